"""One pole switches one conductor.

Why: two conductors on one pole are joined at its terminal; the blocks behind it are one, whatever the drawing says.

Mend: take a switch with more poles and give each conductor a pole of its own ("I3.2"), or a switch of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.layout import PoleRef
from blockcheck.model.link import Fed
from blockcheck.rules._rule import Rule, listed


def check(case: Case) -> Iterator[Finding]:
    """A finding for each pole in which more than one conductor would have to end."""
    poles: dict[PoleRef, dict[object, str]] = {}
    for name, fed in case.wiring.fed.items():
        if fed.isolator is not None and fed.block.isolator is not None and not fed.missing:
            poles.setdefault(fed.block.isolator, {}).setdefault(_conductor(fed), name)
    for pole, users in sorted(poles.items()):
        if len(users) > 1:
            blocks = list(users.values())
            isolator = case.layout.isolators[pole.isolator]
            yield Finding(
                f"{pole} would have to switch {len(users)} conductors: those of {listed(blocks)}",
                subject=str(pole),
                at=("blocks", blocks[1], "isolator"),
                others=tuple(blocks),
                related=(Label(("blocks", blocks[0], "isolator"), f"{blocks[0]} is on it here"),),
                measured=float(len(users)),
                limit=1.0,
                help=f"give each its own pole: write poles = {isolator.poles + len(users) - 1} and "
                f'"{pole.isolator}.{isolator.poles + 1}", or another isolator',
            )


def _conductor(fed: Fed) -> object:
    """What the pole is put into: a channel's lead, a bank's feed, a block's common, an undetected feed."""
    assert fed.isolator is not None
    if fed.isolator.contact == "changeover":
        return (fed.board.name, fed.bank) if fed.board else fed.block.name
    if fed.isolator.side == "common-rail":
        return fed.block.name
    if fed.board is None:
        return ("district", fed.district)
    return fed.channel if fed.isolator.side == "after-detector" else (fed.board.name, fed.bank)


RULE = Rule(__doc__ or "", "pole-shared", "structure", Severity.ERROR, check)
