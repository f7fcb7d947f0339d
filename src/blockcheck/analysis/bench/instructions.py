"""What to do at the bench, in words: how the wiring is set up for the tests, and each step."""

from __future__ import annotations

from collections.abc import Iterable

from blockcheck.analysis.bench.measure import Bench, shown_position
from blockcheck.analysis.bench.wired import CHANNELS, OHMS, VOLTS, Step
from blockcheck.circuit.parts import Kind
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed
from blockcheck.model.quantities import DIMENSIONS, Ohms, show

MEASURE = "Measure the resistance from red to black."


def dead_setup(own: Bench) -> tuple[str, ...]:
    """How the wiring is set up for dead tests."""
    found = [
        "Switch every booster off and unplug it from its feed pair. Take every vehicle, and whatever else draws track "
        "power, off the track."
    ]
    if own.detectors:
        found.append("Pull the buses off the channels of the detector boards, and keep each with its label.")
    if any(edge.kind is Kind.BREAKER for edge in own.study.circuit.edges):
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
    found.append(
        f"The test axle is a resistor of {show(own.axle_ohm, DIMENSIONS[Ohms])}, {size} W, with a clip for each rail."
    )
    if own.study.layout.about.control == "dcc":
        found.append("Read volts with a meter that shows the true r.m.s. of the track signal; others read it wrong.")
    if own.breakers:
        found.append("A breaker that does not trip at once is mended before anything else is done with power on.")
    return tuple(found)


def _closed(own: Bench) -> Iterable[str]:
    isolators = own.study.layout.isolators
    if isolators:
        changeovers = [name for name in isolators if isolators[name].contact == "changeover"]
        open_ = [name for name in own.study.circuit.interlocked if own.state[name] == "open"]
        words = "Close every isolator"
        if open_:
            words += f" but {listed(sorted(open_, key=natural_key))}, which interlocks keep open"
        if changeovers:
            words += "; set " + ", ".join(f"{name} to {own.state[name]}" for name in changeovers)
        yield f"{words}. What a step moves is put back before the next."
    points = [name for name, control in own.study.circuit.controls.items() if control.kind == "points"]
    if points:
        diverging = [name for name in points if own.state[name] != "through"]
        words = "Set all points through" + (f", but {', '.join(diverging)} diverging" if diverging else "")
        yield f"{words}."


def what_to_do(own: Bench, step: Step) -> str:
    """The instruction of a step."""
    moves = []
    for name, place in step.state:
        isolator = own.study.layout.isolators.get(name)
        if isolator is None:
            moves.append(f"Set the points of {name} {place}.")
        elif place == "open":
            moves.append(f"Open {name}.")
        elif place == "closed":
            moves.append(f"Close {name}.")
        else:
            moves.append(f"Set {name} {shown_position(isolator, place)}.")
    where = step.red.words.partition(" rail of ")[2] or step.red.words
    if step.kind == OHMS:
        act = MEASURE
    elif step.kind == CHANNELS:
        act = f"Lay the test axle across the rails of {where}. Which channels read occupied?"
    elif step.kind == VOLTS:
        act = f"Lay the test axle across the rails of {where}. How many volts are across it?"
    else:
        act = f"Lay a short across the rails of {where}, for a second at most. Which breaker trips?"
    return " ".join([*moves, act])
