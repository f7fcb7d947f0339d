"""Which tests a change makes necessary again, each with the reading to expect. Power is off for the first ones."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import frozen

from blockcheck.analysis.difference.gaps import gaps
from blockcheck.analysis.difference.laid import SHARED
from blockcheck.analysis.difference.renames import Renames
from blockcheck.analysis.difference.rewiring import Step
from blockcheck.analysis.power.limits import breaker
from blockcheck.analysis.study import Study
from blockcheck.answers.power import PowerRow
from blockcheck.core.columns import column
from blockcheck.core.natural import condensed, natural_key
from blockcheck.model.layout import Isolator
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show

KINDS = ("gap", "frog", "short", "volts", "block", "channel", "isolator")
"""Kinds of tests, in the order in which they are made: meter without power, shorts, volts, then detection."""


@frozen
class Retest:
    """One test to repeat: what to do, and what must come out."""

    kind: str = column("Kind of test.", choices=("gap", "frog", "short", "volts", "block", "channel", "isolator"))
    subject: str = column("Joint, turnout, district, block, channel or isolator.")
    do: str = column("What to do.")
    expect: str = column("Where, and the reading to expect.")


def retests(
    old: Study, new: Study, names: Renames, done: Iterable[Step], rows: Mapping[str, PowerRow], worse: Iterable[str]
) -> tuple[Retest, ...]:
    """The tests to repeat after the steps.

    ``rows``: new block -> what is computed of it; ``worse``: the blocks whose volts got worse.
    """
    steps = list(done)
    blocks = {block for step in steps for block in step.blocks if block in new.wiring.fed}
    # a wire that serves several blocks leaves what each block's own switch does as it was
    own = {block for step in steps if step.wire not in SHARED for block in step.blocks}
    left = _left(old, new, names)
    known = {names.new("blocks", name) for name in old.wiring.fed}
    fresh = new.wiring.fed.keys() - known
    found = [
        *_gaps(old, new, names),
        *_frogs(new, steps),
        *_shorts(new, blocks, steps, rows),
        *_volts(new, [rows[block] for block in rows if block in fresh or block in set(worse)]),
        *_blocks(new, blocks | {name for name, fed in new.wiring.fed.items() if str(fed.channel) in left}),
        *_channels(new, left),
        *_isolators(new, own, steps),
    ]
    return tuple(sorted(found, key=lambda one: KINDS.index(one.kind)))


def _length(study: Study, metres: float) -> str:
    return show(metres, DIMENSIONS[Metres], study.layout.about.units == "imperial")


def _gaps(old: Study, new: Study, names: Renames) -> Iterator[Retest]:
    before, after = gaps(old.wiring, names), gaps(new.wiring)
    for key, gap in after.items():
        was = before.get(key)
        if was is None or was.cut != gap.cut:
            told = {
                "detected": "open in the detected rail, through in the common rail",
                "common": "open in the common rail, through in the detected rail",
                "both": "open in both rails",
                "none": "through in both rails",
            }[gap.cut]
            yield Retest(
                "gap",
                f"{gap.first} ({gap.first_end} end) / {gap.second} ({gap.second_end} end)",
                "power and trains off, wires not connected yet or unplugged: meter each rail across the joint",
                told,
            )


def _frogs(new: Study, steps: list[Step]) -> Iterator[Retest]:
    turnouts = new.layout.turnouts
    named = {step.what for step in steps}
    for name in sorted(turnouts, key=natural_key):
        if turnouts[name].frog == "switched" and named & {name, f"frog of {name}"}:
            yield Retest("frog", name, "throw the points both ways, and run across", "no breaker cuts out")


def _shorts(study: Study, blocks: set[str], steps: list[Step], rows: Mapping[str, PowerRow]) -> Iterator[Retest]:
    """One for each district in which a block, a feed or a breaker was touched."""
    homes: dict[str, list[str]] = {}
    for name, fed in study.wiring.fed.items():
        if fed.district in study.layout.districts:
            homes.setdefault(str(fed.district), []).append(name)
    named = {step.what for step in steps}
    for district in sorted(homes, key=natural_key):
        touched = [name for name in homes[district] if name in blocks]
        if not touched and not named & {district, study.layout.districts[district].booster}:
            continue
        trip = breaker(study, district)[0]
        trips = [f"it trips at {show(trip, DIMENSIONS[Amperes])}"] if trip is not None else []
        least = [(rows[name].short_a or 0.0, name) for name in homes[district] if rows[name].short_a is not None]
        where, worst = "at the far end of its longest block", None
        if least:
            amperes, worst = min(least, key=lambda one: (one[0], natural_key(one[1])))
            where = f"at {worst}, {_length(study, rows[worst].short_at_m or 0.0)} from its near end"
            trips.insert(0, f"{show(amperes, DIMENSIONS[Amperes])} computed there")
        told = f" ({', '.join(trips)})" if trips else ""
        also = condensed(name for name in touched if name != worst)
        then = f", then in {', '.join(also)}" if also else ""
        yield Retest(
            "short",
            district,
            "switches closed: short the rails for a moment; the breaker must cut out each time",
            f"{where}{told}{then}",
        )


def _volts(study: Study, rows: Iterable[PowerRow]) -> Iterator[Retest]:
    for row in rows:
        if row.voltage_v is not None and row.voltage_at_m is not None:
            limit = row.voltage_limit_v
            least = f", at least {show(limit, DIMENSIONS[Volts])}" if limit is not None else ""
            where = f"{_length(study, row.voltage_at_m)} from its near end"
            volts = show(row.voltage_v, DIMENSIONS[Volts])
            do = "with the usual trains on, and one more locomotive there: meter between the rails"
            yield Retest("volts", row.block, do, f"{where}: {volts} computed{least}")


def _blocks(study: Study, blocks: set[str]) -> Iterator[Retest]:
    for name in sorted(blocks, key=natural_key):
        fed = study.wiring.fed[name]
        if fed.channel is None:
            yield Retest("volts", name, "meter between the rails", "track voltage at both ends; it has no detector")
            continue
        reports = f", which reports as {fed.address}" if fed.address is not None else ""
        do = (
            "set one detectable vehicle on the block, at both ends, and take it off: its channel must read occupied, "
            "then clear, and no other may change"
        )
        yield Retest("block", name, do, f"{fed.channel}{reports}")


def _left(old: Study, new: Study, names: Renames) -> dict[str, str]:
    """Channel, of a board that is still there, that a block has left -> the block, by its new name."""
    found = {}
    for name, fed in old.wiring.fed.items():
        block, board = names.new("blocks", name), names.new("boards", fed.channel.board) if fed.channel else ""
        channel = f"{board}.{fed.channel.number}" if fed.channel else ""
        now = new.wiring.fed.get(block)
        if board in new.layout.boards and (now is None or str(now.channel) != channel):
            found[channel] = block
    return found


def _channels(study: Study, left: Mapping[str, str]) -> Iterator[Retest]:
    """Channels that a block has left and none has taken."""
    used = {str(one.channel) for one in study.wiring.fed.values()}
    for channel in sorted(left.keys() - used, key=natural_key):
        yield Retest("channel", channel, "run a train over all tracks", f"stays clear; {left[channel]} was on it")


def _isolators(study: Study, blocks: set[str], steps: list[Step]) -> Iterator[Retest]:
    """Switches that are new or were touched, and those whose blocks were."""
    named = {step.what for step in steps} | {_object(end) for step in steps for end in step.after}
    for name, isolator in study.layout.isolators.items():
        meant = study.wiring.meant[name]
        touched = name in named or f"hold resistor of {name}" in named
        if touched or any(block in blocks for block in (*meant, *study.wiring.switched[name])):
            yield _isolator(isolator, meant)


def _isolator(isolator: Isolator, meant: tuple[str, ...]) -> Retest:
    name, dead = isolator.name, ", ".join(condensed(meant)) or "nothing"
    if isolator.contact == "changeover":
        homes = ", ".join(map(str, isolator.between or ()))
        do = "a locomotive on its tracks: throw the switch to each of its positions; nothing else may change"
        return Retest("isolator", name, do, f"{dead}: {homes}{', off (dead)' if isolator.centre_off else ''}")
    one = len(meant) == 1
    reads = "still reads" if isolator.detection == "held" else "reads clear"
    reads = reads if one else reads.replace("reads", "read")
    do = "a locomotive on its tracks: open the switch, then close it; nothing else may change"
    return Retest("isolator", name, do, f"{dead} {'goes' if one else 'go'} dead and {reads}, then back")


def _object(end: str) -> str:
    """What an end of a wire is at: ``I3`` of ``I3.2`` and of ``I3:out``."""
    return end.partition(":")[0].partition(".")[0]
