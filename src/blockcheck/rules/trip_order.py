"""A short trips the district's breaker before its booster's, a device that turns a section's polarity turns it before
any breaker trips, and a fuse is rated for no more than the bus behind it.

Why: where the booster trips first, a short in one yard stops all that hangs on the booster, and nobody
sees where it is; where a breaker goes before the device turns, every train that enters the section stops at its gap; a
fuse that bears more than its wire guards nothing. That the device is to be first is common practice, no source.

Mend: let the breaker trip at less than its booster's, and sooner; let the device turn at less than any breaker on
either side of its gaps, and sooner; take a fuse that goes before its wire.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.power.limits import breaker, breaker_line, conductor_limit
from blockcheck.analysis.reversing import sections
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum
from blockcheck.model.layout import District
from blockcheck.model.quantities import Amperes, Seconds
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps
from blockcheck.rules._volts import apart


def check(study: Study) -> Said:
    """A finding for each breaker that does not go before its booster's, and for each fuse above what its bus bears."""
    for name in sorted(study.layout.districts, key=natural_key):
        district = study.layout.districts[name]
        if district.has_breaker and district.booster in study.layout.boosters:
            yield from _breaker(study, district)
    yield from _devices(study)
    yield from _fuses(study)


def _breaker(study: Study, district: District) -> Said:
    """The trip currents, and the delays where both are known: of equals nobody knows which goes first."""
    name, booster = district.name, study.layout.boosters[district.booster]
    yield Judged(name)
    pairs = (
        ("trip", district.trip_a, booster.trip_a, Amperes, "trips at", "at a lower current"),
        ("delay", district.delay_s, booster.delay_s, Seconds, "waits", "sooner"),
    )
    needs = []
    for key, own, above, kind, does, how in pairs:
        if own is None or above is None:
            needs.append(datum("districts", name, key) if own is None else datum("boosters", booster.name, key))
        elif own >= above:
            mine, theirs = apart(own, above, kind)
            yield Finding(
                f"the breaker of {name} {does} {mine}, and that of {booster.name}, which feeds it, {theirs}: a short "
                f"in {name} may stop all that {booster.name} feeds",
                subject=name,
                at=("districts", name, key),
                others=(booster.name,),
                related=(Label(("boosters", booster.name, key), "of the booster's"),),
                measured=own,
                limit=above,
                unit="A" if key == "trip" else "s",
                help=f"let the breaker of {name} trip {how} than that of {booster.name}",
            )
    if needs:
        yield Lacks(name, tuple(needs))


def _devices(study: Study) -> Said:
    """A train that bridges a gap of a section shorts what feeds either side: both breakers see it, and so does the
    device."""
    layout, fed = study.layout, study.wiring.fed
    beside: dict[str, set[str]] = {}
    for section in study.always(sections):
        met = {str(name) for index in section.borders for name in layout.joints[index].blocks}
        beside.setdefault(section.district, set()).update(str(fed[name].district) for name in met if name in fed)
    for name in sorted(layout.districts, key=natural_key):
        district = layout.districts[name]
        if district.polarity == "automatic":
            yield Judged(name)
            others = sorted((beside.get(name, set()) & layout.districts.keys()) - {name}, key=natural_key)
            yield from _device(study, district, (name, *others))


def _device(study: Study, district: District, fed: tuple[str, ...]) -> Said:
    name, needs = district.name, list[str]()
    pairs = (
        (
            "turns_at",
            "trip",
            district.turns_at_a,
            Amperes,
            "A",
            "turns it at {}",
            "trips at",
            "at less than",
            "at more",
        ),
        (
            "turn_delay",
            "delay",
            district.turn_delay_s,
            Seconds,
            "s",
            "takes {} to turn it",
            "waits",
            "sooner than in",
            "later",
        ),
    )
    for at, (key, of, own, kind, unit, does, trips, less, more) in enumerate(pairs):
        limits = [(breaker(study, one)[at], breaker_line(study, one, of)) for one in fed]
        needs += [datum("districts", name, key)] * (own is None)
        needs += [datum(*map(str, path)) for limit, path in limits if limit is None]
        least, path = min(((limit, path) for limit, path in limits if limit is not None), default=(None, ()))
        if own is None or least is None or own < least:
            continue
        mine, theirs = apart(own, least, kind)
        yield Finding(
            f"the device of {name} {does.format(mine)}, and the breaker of {path[1]} {trips} {theirs}: a train that "
            f"bridges a gap of {name} may trip that first",
            subject=name,
            at=("districts", name, key),
            others=(str(path[1]),) if path[1] != name else (),
            related=(Label(path, "of that breaker"),),
            measured=own,
            limit=least,
            unit=unit,
            help=f"let the device turn {less} {theirs}, or the breaker trip {more}",
        )
    if needs:
        yield Lacks(name, tuple(dict.fromkeys(needs)))


def _fuses(study: Study) -> Iterator[Finding | Lacks | Judged]:
    """Fuses that bear more than the bus behind them, where the breaker does not let that much through: else the wire is
    told of."""
    layout = study.layout
    for block, fed in study.wiring.fed.items():
        if fed.fuse is None or fed.missing:
            continue
        yield Judged(block)
        harness = layout.harnesses.get(str(fed.block.harness))
        if harness is None or harness.bus is None:
            lack = datum("blocks", block, "harness") if harness is None else datum("harnesses", harness.name, "bus")
            yield Lacks(block, (lack,))
            continue
        rating, path = fed.fuse
        may, trip = conductor_limit(study, harness.bus), breaker(study, str(fed.district))[0]
        if may is None or rating <= may.amperes or (trip is not None and trip > may.amperes):
            continue
        bears, least = apart(rating, may.amperes, Amperes)
        yield Finding(
            f"the fuse of {block} is rated for {bears}, and the bus behind it ({harness.bus}) may carry {least}"
            f"{' or somewhat more' * may.bound} by {may.source}",
            subject=block,
            at=path,
            related=(Label(("harnesses", harness.name, "bus"), "the bus"),),
            measured=rating,
            limit=may.amperes,
            unit="A",
            help=f"take a fuse of at most {amps(may.amperes)}, or a thicker bus",
            group=(path, harness.name),
        )


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.WARNING,
    check,
    needs=(
        *("districts.*.trip", "districts.*.delay", "districts.*.turns_at", "districts.*.turn_delay"),
        *("boosters.*.trip", "boosters.*.delay", "harnesses.*.bus"),
    ),
)
