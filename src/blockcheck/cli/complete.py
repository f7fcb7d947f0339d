"""What the shell offers while a call is being typed. Where nothing can be told, nothing is offered: no error."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from blockcheck.analysis.study import Study

Context = typer.Context


def format_names(context: Context, incomplete: str) -> list[str]:
    """The formats of the command that is being typed."""
    from blockcheck.formats.registry import format_names as names

    return _begun(names(context.info_name or ""), incomplete)


def output_names(context: Context, incomplete: str) -> list[str]:
    """The same with the sign after which a file is named."""
    return [] if "=" in incomplete else [f"{name}=" for name in format_names(context, incomplete)]


def severities(incomplete: str) -> list[str]:
    """What --fail-on takes."""
    return _begun(("error", "warning", "note", "never"), incomplete)


def dialects(incomplete: str) -> list[str]:
    """What --csv-dialect takes."""
    return _begun(("comma", "semicolon", "tab"), incomplete)


def units(incomplete: str) -> list[str]:
    """What --units takes."""
    return _begun(("metric", "imperial"), incomplete)


def instruments(incomplete: str) -> list[str]:
    """What --with takes; of a list the last one."""
    from blockcheck.analysis.bench.wired import INSTRUMENTS

    return _listed(INSTRUMENTS, incomplete)


def explained(incomplete: str) -> list[str]:
    """Rules, and keys of the language."""
    from blockcheck.answers.explain import names

    return _begun(names(), incomplete)


def track_names(context: Context, incomplete: str) -> list[str]:
    """Blocks, isolators and groups of the layout that is named before; of a list the last one."""
    study = _study(context)
    if study is None:
        return []
    known = [*study.wiring.fed, *study.layout.isolators, *study.wiring.groups]
    return _listed(dict.fromkeys(known), incomplete)


def scenario_names(context: Context, incomplete: str) -> list[str]:
    """Scenarios of the layout that is named before."""
    study = _study(context)
    return _begun(study.layout.scenarios, incomplete) if study is not None else []


def where_names(context: Context, incomplete: str) -> list[str]:
    """Parts and terminals of the layout that is named before."""
    from blockcheck.answers.workshop.leads import where_names as names
    from blockcheck.core.errors import CallError

    study = _study(context)
    with suppress(CallError):
        return _begun(names(study), incomplete) if study is not None else []
    return []


def _study(context: Context) -> Study | None:
    from blockcheck.api import load
    from blockcheck.core.errors import BlockcheckError

    words = [context.params.get("file"), *context.args]  # behind an option without its value, words are not yet read
    file = next((one for one in words if isinstance(one, str) and not one.startswith("-")), None)
    with suppress(BlockcheckError):
        return load(file) if file is not None else None
    return None


def _listed(names: Iterable[str], incomplete: str) -> list[str]:
    """The last name of a list that is being typed."""
    before, comma, last = incomplete.rpartition(",")
    return [f"{before}{comma}{name}" for name in _begun(names, last)]


def _begun(names: Iterable[str], incomplete: str) -> list[str]:
    return [name for name in names if name.startswith(incomplete)]
