"""The test sheet: what to measure once the layout is wired, and what to read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from attrs import frozen

from blockcheck.analysis.bench.faults import Fault, every_fault
from blockcheck.analysis.bench.measure import Bench, shown_position
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import CHANNELS, OHMS, OPEN_OHM, TRIPS, VOLTS, Step
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.pieces import counted
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Unchecked
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.model.layout import Layout
from blockcheck.model.quantities import DIMENSIONS, Amperes, Dimension, Ohms, Volts, show

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from blockcheck.analysis.bench.predict import Names, Predicted, Progress

_OHM, _VOLT, _AMPERE = DIMENSIONS[Ohms], DIMENSIONS[Volts], DIMENSIONS[Amperes]


@frozen
class SheetStep:
    """One step of the sheet. ``value``, ``low`` and ``high`` are ohms or volts (``high`` None: open), ``names`` what
    must read occupied or trip; ``amperes`` is the current of a short. ``stage`` is dead or live, ``kind`` ohms,
    channels, volts or trips."""

    number: int
    id: str
    stage: str
    kind: str
    group: str | None
    title: str
    do: str
    red: str
    black: str
    expect: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    names: tuple[str, ...] | None = None
    amperes: float | None = None


@frozen
class Untold:
    """A fault, and those that no test tells from it; ids. A poor joint may be taken for others at other resistances."""

    fault: str
    others: tuple[str, ...]


@frozen
class BenchAnswer(Answer):
    """The test sheet. ``dead`` and ``live`` tell how the wiring is set up for each part.

    ``faults`` maps the id of every fault that the sheet is made for to what is wrong; ``unseen`` are those that no test
    tells from wiring that is right, ``untold`` those that none tells from each other. ``pool`` counts all tests that
    could be made. ``only`` and ``since`` say what the sheet was narrowed to.
    """

    command = "bench"

    layout: str
    tolerance: Tolerance
    axle_ohm: float
    dead: tuple[str, ...]
    live: tuple[str, ...]
    steps: tuple[SheetStep, ...]
    faults: Mapping[str, str]
    unseen: tuple[str, ...]
    untold: tuple[Untold, ...]
    pool: int
    only: str | None
    changed: tuple[str, ...] | None
    unchecked: tuple[Unchecked, ...]


def bench(
    study: Study,
    tolerance: Tolerance | None = None,
    *,
    only: str | None = None,
    since: Study | None = None,
    every: bool = False,
    times: int = 1,
    progress: Progress | None = None,
) -> BenchAnswer:
    """The fewest tests that tell every fault from every other; ``every``: all that can be made.

    ``only`` narrows it to a group, ``since`` to what differs from an older layout; ``times`` asks for so many tests
    that tell each pair, where there are so many. Raises CallError for an unknown group, and for a layout that is too
    large for one sheet.
    """
    from blockcheck.analysis.bench.choose import choose
    from blockcheck.analysis.bench.predict import predict

    counted(study)
    own = Bench.of(study)
    tolerance = tolerance or Tolerance()
    names = _narrowed(study, only, since)
    steps = [one for one in own.tests if names is None or names & {*one.about}]
    faults = every_fault(own, names=names)
    if not steps:
        return _answer(own, tolerance, (), faults, (), (), len(own.tests), only, since)
    guesses = every_fault(own, guesses=True, names=names)
    predicted = predict(own, steps, [one.change for one in guesses], progress)
    ids = ["", *(one.id for one in guesses)]
    always = _always(own, predicted)
    choice = choose(predicted, tolerance, always=always, same=ids, times=times, progress=progress)
    chosen = range(len(steps)) if every else choice.tests
    sheet = tuple(sheet_step(own, predicted, test, tolerance, number) for number, test in enumerate(chosen, 1))
    alike = alike_of(choice.untold, ids)
    unseen = tuple(one.id for one in faults if "" in alike.get(one.id, ()))
    untold = []
    for one in faults:
        mine = alike.get(one.id, set())
        others = tuple(other.id for other in faults if other.id in mine) if mine else ()
        if others:
            untold.append(Untold(one.id, others))
    return _answer(own, tolerance, sheet, faults, unseen, tuple(untold), len(steps), only, since)


def alike_of(untold: NDArray[np.bool_], ids: Sequence[str]) -> dict[str, set[str]]:
    """Fault -> those that no test tells from it; the empty id is wiring that is right."""
    found: dict[str, set[str]] = {}
    for one, other in zip(*untold.nonzero(), strict=True):
        found.setdefault(ids[one], set()).add(ids[other])
    return found


def _answer(
    own: Bench,
    tolerance: Tolerance,
    steps: tuple[SheetStep, ...],
    faults: Sequence[Fault],
    unseen: tuple[str, ...],
    untold: tuple[Untold, ...],
    pool: int,
    only: str | None,
    since: Study | None,
) -> BenchAnswer:
    study = own.study
    changed = tuple(sorted(changed_names(since.layout, study.layout))) if since is not None else None
    unchecked = tuple(
        Unchecked("bench", block, tuple(".".join(map(str, path)) for path in lacks) or ("names that exist",))
        for block, lacks in own.built.grid.lacking.items()
    )
    return BenchAnswer(
        study.layout.about.name,
        tolerance,
        own.axle_ohm,
        dead_setup(own),
        live_setup(own),
        steps,
        {one.id: one.words.partition(": about ")[0] for one in faults},
        unseen,
        untold,
        pool,
        only,
        changed,
        unchecked,
    )


def dead_setup(own: Bench) -> tuple[str, ...]:
    """How the wiring is set up for dead tests."""
    found = [
        "Switch every booster off and unplug it from its feed pair. Take every vehicle, and whatever else draws track "
        "power, off the track."
    ]
    if own.detectors:
        found.append("Pull the buses off the channels of the detector boards, and keep each with its label.")
    if any(edge.kind == "breaker" for edge in own.study.circuit.edges):
        found.append("No test reads through a district's own breaker: whether one conducts without power differs.")
    found += [*_closed(own)]
    found.append(
        "Below 10 ohm an ohmmeter reads its own leads. Send 1 A through the two places from a bench supply that is "
        "limited to 1 A and 3 V, and read the millivolts between them with the meter's own probes: 46 mV is 46 mohm."
    )
    found.append('Readings above 100 kohm, or over the meter\'s range, are "open".')
    return tuple(found)


def live_setup(own: Bench) -> tuple[str, ...]:
    """How the wiring is set up for live tests."""
    found = [
        "Only when every dead test is right: plug everything in again, each bus into its own channel, boosters on."
    ]
    volts = max((one.voltage_v for one in own.study.layout.boosters.values()), default=0.0)
    watts = volts * volts / own.axle_ohm
    size = "1/4" if watts <= 0.2 else "1/2" if watts <= 0.4 else "2"
    found.append(f"The test axle is a resistor of {show(own.axle_ohm, _OHM)}, {size} W, with a clip for each rail.")
    if own.study.layout.about.control == "dcc":
        found.append("Read volts with a meter that shows the true r.m.s. of the track signal; others read it wrong.")
    if own.breakers:
        found.append("A breaker that does not trip at once is mended before anything else is done with power on.")
    return tuple(found)


def _closed(own: Bench) -> Iterable[str]:
    isolators = own.study.layout.isolators
    if isolators:
        changeovers = [name for name in isolators if isolators[name].contact == "changeover"]
        words = "Close every isolator"
        if changeovers:
            words += "; set " + ", ".join(f"{name} to {own.state[name]}" for name in changeovers)
        yield f"{words}. What a step moves is put back before the next."
    points = [name for name, control in own.study.circuit.controls.items() if control.kind == "points"]
    if points:
        diverging = [name for name in points if own.state[name] != "through"]
        words = "Set all points through" + (f", but {', '.join(diverging)} diverging" if diverging else "")
        yield f"{words}."


def sheet_step(own: Bench, predicted: Predicted, test: int, tolerance: Tolerance, number: int) -> SheetStep:
    """One test as the sheet has it."""
    import numpy as np

    step = predicted.tests[test]
    head = (number, step.id, step.stage, step.kind, step.group, step.title, what_to_do(own, step))
    words = step.red.words, step.black.words
    value = predicted.value(test, 0)
    if not isinstance(value, float):
        amperes = _rounded(float(predicted.amperes[test][0])) if test in predicted.amperes else None
        return SheetStep(
            *head, *words, expected_names(step, value, amperes), names=tuple(sorted(value)), amperes=amperes
        )
    value = _rounded(value)
    room = float(tolerance.of(step, np.array([value]))[0])
    low, high = _rounded(max(value - room, 0.0)), _rounded(value + room)
    if step.kind == OHMS and value >= OPEN_OHM:
        return SheetStep(*head, *words, "open", None, OPEN_OHM)
    return SheetStep(*head, *words, expected_number(step, value, low, high), value, low, high)


def _rounded(value: float) -> float:
    """Nine digits: what lies behind them differs with the machine and its threads."""
    return float(f"{value:.9g}")


def expected_number(step: Step, value: float, low: float, high: float) -> str:
    """A reading with its tolerance, in words."""
    dimension: Dimension = _VOLT if step.kind == VOLTS else _OHM
    if step.rough and step.kind == OHMS:
        return f"connected: less than {show(high, dimension)}"
    if low <= 0:
        return f"less than {show(high, dimension, digits=2)}"
    return f"{show(value, dimension)} ({show(low, dimension)} to {show(high, dimension)})"


def expected_names(step: Step, names: Names, amperes: float | None) -> str:
    """What must read or trip, in words."""
    found = " and ".join(sorted(names))
    if step.kind == TRIPS:
        flows = f"; the wires would let {show(amperes, _AMPERE, digits=2)} flow" if amperes else ""
        return f"{found} trips{flows}" if names else f"nothing trips{flows}"
    maybe = f" ({', '.join(sorted(names.doubtful))} may read too)" if names.doubtful else ""
    return (f"{found}, and no other" if names else "none") + maybe


def what_to_do(own: Bench, step: Step) -> str:
    """The instruction of a step."""
    moves = []
    for name, place in step.state:
        isolator = own.study.layout.isolators.get(name)
        if isolator is None:
            moves.append(f"Set the points of {name} {place}.")
        elif place == "open":
            moves.append(f"Open {name}.")
        else:
            moves.append(f"Set {name} {shown_position(isolator, place)}.")
    where = step.red.words.partition(" rail of ")[2] or step.red.words
    if step.kind == OHMS:
        act = "Measure the resistance from red to black."
    elif step.kind == CHANNELS:
        act = f"Lay the test axle across the rails of {where}. Which channels read occupied?"
    elif step.kind == VOLTS:
        act = f"Lay the test axle across the rails of {where}. How many volts are across it?"
    else:
        act = f"Lay a short across the rails of {where}, for a second at most. Which breaker trips?"
    return " ".join([*moves, act])


def _always(own: Bench, predicted: Predicted) -> list[int]:
    """Tests that safety asks for, whatever they tell: no short in a district, and a short that trips each breaker."""
    found = [number for number, step in enumerate(predicted.tests) if step.id.startswith(("district.", "districts."))]
    for name, *_ in own.breakers:
        able = [one for one in predicted.amperes if name in predicted.known[int(predicted.names[one][0])]]
        if able:
            found.append(min(able, key=lambda one: _rounded(float(predicted.amperes[one][0]))))
    return found


def _narrowed(study: Study, only: str | None, since: Study | None) -> set[str] | None:
    """The names that a sheet is narrowed to; None for all."""
    names: set[str] | None = None
    if only is not None:
        groups = study.wiring.groups
        if only not in groups:
            near = did_you_mean(only, groups) or (
                f"the groups are {', '.join(groups)}" if groups else "no block has one"
            )
            raise CallError(f"there is no group {shown(only)}", near)
        names = {*groups[only]}
        names |= {one for one, blocks in study.wiring.switched.items() if names & {*blocks}}
        names |= {name for name, one in study.layout.turnouts.items() if one.block in names}
    if since is not None:
        changed = changed_names(since.layout, study.layout)
        names = changed if names is None else names & changed
    return names


def changed_names(old: Layout, new: Layout) -> set[str]:
    """The blocks, isolators, turnouts, boards and districts whose wiring differs between two layouts."""
    found: set[str] = set()
    for table in ("blocks", "isolators", "turnouts", "boards", "districts"):
        before, after = getattr(old, table), getattr(new, table)
        found |= {name for name in {*before, *after} if repr(before.get(name)) != repr(after.get(name))}
    for table, key in (("harnesses", "harness"),):
        before, after = getattr(old, table), getattr(new, table)
        other = {name for name in {*before, *after} if repr(before.get(name)) != repr(after.get(name))}
        wires = {name for name in {*old.wires, *new.wires} if repr(old.wires.get(name)) != repr(new.wires.get(name))}
        other |= {name for name, one in after.items() if {one.bus, one.common, one.feeder} & wires}
        found |= {name for name, block in new.blocks.items() if getattr(block, key) in other}
    met = [{(frozenset(one.blocks), one.gap, one.ends) for one in layout.joints} for layout in (old, new)]
    for blocks, *_ in met[0] ^ met[1]:
        found |= blocks
    kinds = {
        one
        for one in {*old.board_types, *new.board_types}
        if repr(old.board_types.get(one)) != repr(new.board_types.get(one))
    }
    boards = found | {name for name, one in new.boards.items() if one.type in kinds}
    found |= {name for name, one in new.blocks.items() if one.channel is not None and one.channel.board in boards}
    found |= {
        name
        for name, one in new.isolators.items()
        if any(
            block.isolator is not None and block.isolator.isolator == name and block.name in found
            for block in new.blocks.values()
        )
    }
    return found
