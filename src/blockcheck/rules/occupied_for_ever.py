"""What lies across the rails for good draws less than the threshold, with margin.

Why: a lamp or a filter behind the detector makes a track that is never free. Cable and roadbed do so too, but they are
in any wiring: where they alone draw too much, false-occupancy tells it; this tells what was put there on purpose, with
them where both together draw too much. Where the margin alone is missing, it is a warning.

Mend: connect it before the detector, to the district's feed, or take one that draws less; or a less sensitive board.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.false_occupancy import Empty, empty_current
from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import lying_across
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.quantities import Amperes
from blockcheck.rules._rule import Judged, Rule, Said, amps, in_scenario
from blockcheck.rules._volts import apart, marginal


class _Most(NamedTuple):
    """What an empty block draws at most, and the scenario in which it does; None for the usual state."""

    empty: Empty
    scenario: str | None


def _most(study: Study) -> Mapping[str, _Most]:
    """Detected block -> what it draws at most in any operation, through a hold resistor where that is all."""
    found = dict[str, _Most]()
    for operation in study.operations:
        feeding = Feeding.of(study, operation)
        for block, district in feeding.reached.items():
            fed, isolator = study.wiring.fed[block], feeding.hold(block)
            if fed.channel is None or fed.type is None or fed.through is not None:
                continue
            empty = empty_current(study, block, district, (isolator.hold_ohm or 0.0) if isolator else 0.0)
            if block not in found or settled(empty.across_a) > settled(found[block].empty.across_a):
                found[block] = _Most(empty, operation.scenario)
    return found


def check(study: Study) -> Said:
    """A finding for each detected block whose lamps and filters may draw too much. The current is a bound."""
    margin = study.layout.limits.detection_margin
    for block, most in _most(study).items():
        fed, empty = study.wiring.fed[block], most.empty
        assert fed.type is not None
        if not empty.across_a:
            continue
        yield Judged(block)
        limit = fed.threshold_a / margin
        if empty.amperes <= limit or (empty.across_a <= limit < empty.leaks_a):
            continue  # what cable and roadbed draw by themselves is another rule's
        both = empty.leaks_a <= limit
        amperes = empty.amperes if both else empty.across_a
        own = marginal(settled(amperes) < fed.threshold_a)
        draws, most_a = apart(amperes, limit, Amperes)
        when = in_scenario(most.scenario)
        names = study.wiring.with_hung(block)
        parts = sorted((one for name in names for one in lying_across(study.wiring, name)), key=lambda one: one.ohms)
        lies = f"{parts[0].words} {'lies' if len(parts) == 1 else 'and more lie'} across its rails for good"
        along = f", and cable and roadbed take {amps(empty.leaks_a)}" if both and empty.leaks_a else ""
        yield Finding(
            f"{block} draws up to {draws}{when} with nothing on it, since {lies}{along}; channel {fed.channel} reads "
            f"from {amps(fed.threshold_a)}, and {most_a} is the most that leaves the margin",
            subject=block,
            at=parts[0].path,
            related=(Label(("board_types", fed.type.name, "threshold"), "the threshold"),),
            measured=amperes,
            limit=limit,
            unit="A",
            help="connect it before the detector, take one that draws less, or a less sensitive board",
            group=(parts[0].path, fed.type.name, own),
            own=own,
            margin=-amperes / limit,
        )


RULE = Rule(__doc__, __name__, "electrics", Severity.ERROR, check)
