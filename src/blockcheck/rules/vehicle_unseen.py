"""The smallest vehicle that is meant to be seen draws more than the threshold, with margin.

Why: a wagon left behind that the detector does not see is hit by the next train. Where it draws what the detector reads
from, and the margin alone is missing, it is a warning.

Mend: take axles of less resistance, or a more sensitive board.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import AXLE
from blockcheck.model.quantities import Amperes
from blockcheck.rules._claims import Unseen
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps
from blockcheck.rules._volts import apart, as_bound, at_place, complete, marginal, usual, whatever


def check(study: Study) -> Said:
    """A finding for each detected block in which the smallest vehicle draws too little somewhere."""
    for block in complete(study, stand=True):
        name = block.subject if isinstance(block, Lacks) else block
        if study.wiring.fed[name].channel is not None:
            yield Judged(name)
        if isinstance(block, Lacks):
            yield from whatever(study, block, _block)
        elif study.wiring.fed[block].channel is None or Unseen(block) in study.claims:
            continue
        elif usual(study).smallest is None:
            yield Lacks(block, (AXLE,))
        else:
            yield from _block(study, block)


def _block(study: Study, block: str, whatever: str = "") -> Iterator[Finding]:
    """What is wrong with a block; ``whatever``: as `_volts.whatever` has it."""
    electrics, fed, margin = usual(study), study.wiring.fed[block], study.layout.limits.detection_margin
    load = electrics.smallest
    if fed.channel is None or fed.type is None or load is None or Unseen(block) in study.claims:
        return
    divided = Feeding.of(study, study.operations[0]).divided(block)
    spot = least_detected(electrics, block, divided=divided)
    limit = margin * fed.threshold_a
    if spot is None or spot.value >= limit:
        return
    own = marginal(settled(spot.value) >= fed.threshold_a)
    draws, wanted = apart(spot.value, limit, Amperes)
    place = at_place(block, spot.at_m, study) if not whatever and (load.axle_ohm or divided) else f"in {block}"
    axle = "an axle of less resistance" if load.axle_ohm else "an axle with a resistor"
    bound, labels = as_bound(study, block) if load.axle_ohm else ("", ())
    draws, place = f"{'at most ' * bool(whatever)}{draws}", f"{place}{whatever}"
    yield Finding(
        f"{_share(str(fed.channel), load.name, draws, place, divided)} from {amps(fed.threshold_a)} "
        f"and should see {wanted}, {margin:g} times that{bound}",
        subject=block,
        at=("blocks", block, "channel"),
        others=(load.name,),
        related=(
            Label(("board_types", fed.type.name, "threshold"), "the threshold"),
            Label(("loads", load.name, load.axle_key if load.axle_ohm else "idle"), "the smallest vehicle"),
            *labels,
        ),
        measured=spot.value,
        limit=limit,
        unit="A",
        help=f"give the vehicle {axle}, or take a more sensitive board",
        causes=frozenset({Unseen(block)} if own is None else ()),
        group=(fed.type.name, own),
        own=own,
        margin=spot.value / limit,
    )


def _share(channel: str, vehicle: str, draws: str, place: str, divided: bool) -> str:
    if divided:
        return f"of what one {vehicle} draws {place} channel {channel} carries {draws}; it reads"
    return f"one {vehicle} draws {draws} {place}; channel {channel} reads"


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.axle", "harnesses.*", "blocks.*.length", "districts.*.feed"),
)
