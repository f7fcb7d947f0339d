"""Boosters that meet at a gap differ by so little that a wheel across it trips neither.

Why: what one booster gives more than the other flows through every wheel that rolls over the gap: it pits
wheels and rails, and trips a breaker that nobody can explain.

Mend: set the boosters to one voltage.
"""

from __future__ import annotations

from blockcheck.analysis.power.across import boosters_at, bridging_amperes
from blockcheck.analysis.power.limits import breaker, breaker_line
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum
from blockcheck.model.layout import Joint
from blockcheck.model.quantities import Amperes
from blockcheck.rules._rule import Judged, Lacks, Rule, Said
from blockcheck.rules._volts import apart, lacking, usual, volts


def check(study: Study) -> Said:
    """A finding for each pair of boosters, at the worst of their gaps. Cabs are set by hand: under dc nothing is
    asked."""
    electrics = usual(study)
    worst: dict[tuple[str, str], tuple[float, int]] = {}
    for index, joint in enumerate(study.layout.joints if study.layout.about.control == "dcc" else ()):
        pair = boosters_at(electrics, joint)
        if pair is None:
            continue
        first, second = sorted(pair, key=natural_key)
        yield Judged(first)
        needs = [need for block in joint.blocks for need in lacking(study).get(block, ())]
        needs += [datum("districts", home, "trip") for home in _homes(study, joint) if breaker(study, home)[0] is None]
        if needs:
            yield Lacks(first, tuple(dict.fromkeys(needs)))
            continue
        worst[first, second] = max(worst.get((first, second), (0.0, 0)), (bridging_amperes(electrics, joint), index))
    for (first, second), (amperes, index) in worst.items():
        trips = {home: breaker(study, home)[0] or 0.0 for home in _homes(study, study.layout.joints[index])}
        home = min(trips, key=lambda name: (trips[name], natural_key(name)))
        if amperes < trips[home]:
            continue
        boosters, blocks = study.layout.boosters, study.layout.joints[index].blocks
        given = [f"{name} ({volts(boosters[name].voltage_v)})" for name in (first, second)]
        flows, trip = apart(amperes, trips[home], Amperes)
        yield Finding(
            f"a wheel across the gap between {blocks[0]} and {blocks[1]} lets {flows} flow between {given[0]} and "
            f"{given[1]}; the breaker of {home} trips at {trip}",
            subject=first,
            at=("boosters", first, "voltage"),
            others=(second, *map(str, blocks)),
            related=(
                Label(("boosters", second, "voltage"), "the other booster"),
                Label(("joints", index, "blocks"), "they meet here"),
                Label(breaker_line(study, home, "trip"), "the trip current"),
            ),
            measured=amperes,
            limit=trips[home],
            unit="A",
            help=f"set {first} and {second} to one voltage",
        )


def _homes(study: Study, joint: Joint) -> list[str]:
    """The districts that feed the two blocks of a joint."""
    supply = usual(study).feeding.supply
    return [supply[block] for block in joint.blocks]


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.WARNING,
    check,
    needs=("harnesses.*", "blocks.*.length", "districts.*.feed", "boosters.*.trip"),
)
