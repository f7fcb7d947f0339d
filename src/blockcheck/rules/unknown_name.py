"""Every name that is referred to exists.

Why: a name that leads nowhere is a wire that leads nowhere; nothing behind it can be checked.

Mend: write the name as its table spells it, or add the table.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.model.wiring import Unresolved
from blockcheck.rules._rule import Rule, listed


def check(case: Case) -> Iterator[Finding]:
    """One finding for each unknown name, however often it is referred to."""
    groups: dict[tuple[str, str], list[Unresolved]] = {}
    for one in case.wiring.unresolved:
        groups.setdefault((one.kind, one.name), []).append(one)
    for (kind, name), uses in groups.items():
        uses.sort(key=lambda use: tuple(natural_key(str(step)) for step in use.path))
        holders = tuple(dict.fromkeys(str(use.path[1]) for use in uses if isinstance(use.path[1], str)))
        places = list(
            dict.fromkeys(case.wiring.document.place(use.path, use.is_key) for use in uses)
        )  # a range says it once
        yield Finding(
            f'there is no {kind} "{name}"',
            subject=name,
            at=places[0],
            others=holders,
            related=tuple(Label(place, "also named here") for place in places[1:3]),
            help=did_you_mean(name, uses[0].known) or _choice(kind, sorted(uses[0].known, key=natural_key)),
        )


def _choice(kind: str, known: list[str]) -> str:
    if not known:
        return f"the layout has no {kind} at all"
    return f"there is only {known[0]}" if len(known) == 1 else f"there are {listed(known, 12)}"


RULE = Rule(__doc__ or "", "unknown-name", "structure", Severity.ERROR, check)
