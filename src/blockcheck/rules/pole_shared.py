"""One pole switches one conductor.

Why: two conductors on one pole are joined at its terminal; the blocks behind it are one, whatever the drawing says.

Mend: take a switch with more poles and give each conductor a pole of its own ("I3.2"), or a switch of its own.
"""

from __future__ import annotations

from itertools import count, islice

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.layout import Isolator, PoleRef
from blockcheck.model.wiring import Fed
from blockcheck.rules._claims import Shared
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each pole in which more than one conductor would have to end."""
    yield from (Judged(name) for name, blocks in study.wiring.switched.items() if blocks)
    poles = conductors_of_poles(study)
    for pole, users in sorted(poles.items()):
        if len(users) > 1:
            blocks = list(users.values())
            yield Finding(
                f"{pole} would have to switch {len(users)} conductors: those of {listed(blocks)}",
                subject=str(pole),
                at=("blocks", blocks[1], "isolator"),
                others=tuple(blocks),
                related=tuple(
                    Label(("blocks", block, "isolator"), f"{block} is on it here")
                    for block in (blocks[0], *blocks[2:4])
                ),
                measured=float(len(users)),
                limit=1.0,
                help=_help(
                    study, pole.isolator, len(users) - 1, {one.pole for one in poles if one.isolator == pole.isolator}
                ),
                causes=frozenset({Shared(str(pole), blocks)}),
            )


def conductors_of_poles(study: Study) -> dict[PoleRef, dict[object, str]]:
    """Pole -> the conductors that would end in it, each with the first block behind it. A channel's lead is its
    channel."""
    poles: dict[PoleRef, dict[object, str]] = {}
    for name, fed in study.wiring.fed.items():
        for isolator, pole in () if fed.missing else fed.poles:
            poles.setdefault(PoleRef(isolator.name, pole), {}).setdefault(_conductor(fed, isolator), name)
    return poles


def _help(study: Study, name: str, more: int, used: set[int]) -> str:
    """Which poles to take; a switch with more of them only where these do not suffice."""
    free = list(islice((number for number in count(1) if number not in used), more))
    grow = f"write poles = {free[-1]} and take" if free[-1] > study.layout.isolators[name].poles else "take"
    return f"give each its own pole: {grow} {listed([str(PoleRef(name, one)) for one in free])}; or another isolator"


def _conductor(fed: Fed, isolator: Isolator) -> object:
    """What the pole is put into: a channel's lead, a bank's feed, a block's common, an undetected feed."""
    changeover = isolator.contact == "changeover"
    if isolator.side == "common-rail" and not changeover:
        return fed.block.name
    if fed.board is None:  # one bus from the switch serves all tracks that no detector parts
        return "undetected" if changeover else ("district", fed.district)
    if changeover:
        return (fed.board.name, fed.bank)
    return fed.channel if isolator.side == "after-detector" else (fed.board.name, fed.bank)


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
