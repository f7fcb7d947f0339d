"""blockcheck checks the track wiring of model railways.

``load`` reads a layout; ``check``, ``channels`` and ``isolate`` answer questions about it; ``explain`` tells what a
rule holds. Everything returned is frozen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from blockcheck.answers.explain import explain
    from blockcheck.answers.new import new
    from blockcheck.api import bench, channels, check, check_files, compare, isolate, load, trace
    from blockcheck.core.errors import BlockcheckError, CallError, InputError
    from blockcheck.core.findings import Finding, Severity
    from blockcheck.model.layout import Layout

_HOMES = {
    "BlockcheckError": "core.errors",
    "CallError": "core.errors",
    "Finding": "core.findings",
    "InputError": "core.errors",
    "Layout": "model.layout",
    "Severity": "core.findings",
    "bench": "api",
    "channels": "api",
    "check": "api",
    "check_files": "api",
    "compare": "api",
    "explain": "answers.explain",
    "isolate": "api",
    "load": "api",
    "new": "answers.new",
    "trace": "api",
}

__all__ = [
    "BlockcheckError",
    "CallError",
    "Finding",
    "InputError",
    "Layout",
    "Severity",
    "bench",
    "channels",
    "check",
    "check_files",
    "compare",
    "explain",
    "isolate",
    "load",
    "new",
    "trace",
]


def __getattr__(name: str) -> object:
    """Public names are imported when they are first asked for, so that a command loads only what it uses."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
