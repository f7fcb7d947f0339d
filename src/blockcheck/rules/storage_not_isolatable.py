"""Every storage block has an isolator, or points that put it to sleep.

Why: what is stored there stays awake, sound and all, as long as the booster is on. Of a yard without any isolator
it is one note: that is how it is meant to be, for now.

Mend: wire the block through an isolator, or accept it with the reason.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.circuit.state import OFF
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import open_position
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each storage block that no isolator is meant for, and one for a yard (group) that has none."""
    yards: dict[str | None, list[str]] = {}
    for name, fed in study.wiring.fed.items():
        if fed.block.kind != "storage" or fed.block.unpowered is not None:
            continue
        if _by_points(study, name):
            yield Judged(name)
        else:
            yards.setdefault(fed.block.group, []).append(name)
    for names in yards.values():
        yield from map(Judged, names)
        isolated = any(study.wiring.isolators_of[name] or study.layout.blocks[name].isolated_by for name in names)
        yield from _tracks(study, names) if isolated else _none(names)


def _by_points(study: Study, name: str) -> bool:
    """Whether points that pass power to one leg put a track to sleep, all else as it usually stands."""
    circuit = study.circuit
    if name not in circuit.through:
        return False
    points = {turnout for turnout, _ in study.wiring.routed.values()}
    states = ({**circuit.usual, one: place} for one in points for place in circuit.controls[one].positions)
    return any(circuit.can_be(state) and study.now(state).power(name) == OFF for state in states)


def _tracks(study: Study, names: list[str]) -> Iterator[Finding]:
    for name in names:
        fed = study.wiring.fed[name]
        able = [one for one in study.wiring.isolators_of[name] if open_position(study.wiring, one) is not None]
        own = next(iter(fed.isolators), None)
        if not able and (own is not None or not fed.block.isolated_by):
            yield Finding(
                f"storage track {name} cannot be put to sleep",
                subject=name,
                at=("blocks", name),
                related=(Label(("isolators", own.name, "centre_off"), f"{own.name} has no off position"),)
                if own is not None
                else (),
                help=_help(study, name, own),
                edits=(Rewrite(("isolators", own.name, "centre_off"), "true"),) if own is not None else (),
            )


def _help(study: Study, name: str, own: Isolator | None) -> str:
    if own is not None:
        return f"give {own.name} an off position (centre_off = true)"
    if name in study.circuit.through:
        return "write routes = true in the points that lead to it, where they pass power to one leg only"
    return 'write isolator = "..." and wire the switch behind the detector'


def _none(names: list[str]) -> Iterator[Finding]:
    for name in names:
        yield Finding(
            f"no isolator puts storage track {name} to sleep",
            subject=name,
            at=("blocks", name),
            help='write isolator = "..." and wire a switch behind the detector, or accept it',
            group=names[0],
            also="nor",
            own=Severity.NOTE,
        )


RULE = Rule(__doc__, __name__, "isolation", Severity.WARNING, check)
