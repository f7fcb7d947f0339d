"""The district of a block is the one that feeds its channel's bank.

Why: the block gets its power from where its channel's bank gets it, whatever its table says; budgets and gaps planned
for the other district are then wrong.

Mend: move the block to a channel of the right bank, feed the bank from the block's district, or correct the district.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each block whose district is not the one of its bank, nor one that its changeover connects."""
    for name, fed in study.wiring.fed.items():
        wanted = fed.block.district
        if fed.channel is None or fed.board is None or wanted is None or fed.missing:
            continue
        yield Judged(name)
        if wanted == fed.district:
            continue
        if fed.changeover is not None and wanted in (fed.changeover.between or ()):
            continue
        banks = ("boards", fed.board.name, "banks") if fed.board.banks else ("boards", fed.board.name)
        yield Finding(
            f"{name} is meant for district {wanted}, but bank {fed.bank} of board {fed.board.name}, which has its "
            f"channel {fed.channel}, is fed by {fed.district}",
            subject=name,
            at=("blocks", name, "district"),
            others=(fed.board.name,),
            related=(
                Label(("blocks", name, "channel"), "its channel stands here"),
                Label(banks, f"the bank is fed by {fed.district} here"),
            ),
            help=f'take a channel of a bank that {wanted} feeds, or write district = "{fed.district}"',
        )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
