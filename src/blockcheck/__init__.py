"""blockcheck checks the track wiring of model railways.

``load`` reads a layout; ``check``, ``channels`` and ``isolate`` answer questions about it; ``explain`` tells what a
rule holds. Everything returned is frozen.
"""

from blockcheck.answers.explain import explain
from blockcheck.answers.new import new
from blockcheck.api import channels, check, check_files, isolate, load
from blockcheck.core.errors import BlockcheckError, CallError, InputError
from blockcheck.core.findings import Finding, Severity
from blockcheck.model.layout import Layout

__all__ = [
    "BlockcheckError",
    "CallError",
    "Finding",
    "InputError",
    "Layout",
    "Severity",
    "channels",
    "check",
    "check_files",
    "explain",
    "isolate",
    "load",
    "new",
]
