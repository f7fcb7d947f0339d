"""What to do at the bench, in words: how the wiring is set up for the tests, and each step."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.wired import (
    BEEPER,
    BEEPS_OHM,
    CHANNELS,
    METER,
    OHMS,
    SILENT_OHM,
    SUPPLY,
    VOLTS,
    Step,
    shown_position,
)
from blockcheck.circuit.parts import Kind
from blockcheck.core.natural import natural_key
from blockcheck.core.words import capital, listed
from blockcheck.model.layout import Selector
from blockcheck.model.quantities import DIMENSIONS, Ohms, show
from blockcheck.model.tables.selectors import contact, place_of, selector_of, tracks_of

DOES = {
    BEEPER: "Hold the beeper from red to black.",
    METER: "Measure the resistance from red to black.",
    SUPPLY: "Send 1 A from red to black, and read the millivolts.",
}
"""Instrument -> how a resistance is read with it."""
_LAY_ONE = "before anything runs, lay one across the rails for a second at most all the same, and see that it trips"
DO = {"open": "Open", "closed": "Close"}
_SIZES_W, BORNE, HOT_W = (0.25, 0.5, 2, 5, 10, 25, 50), 0.8, 2
"""Sizes of resistors, the share of it that one is given to bear, and above which it burns fingers: common practice, no
source."""


def dead_setup(own: Bench, at_hand: Collection[str]) -> tuple[str, ...]:
    """How the wiring is set up for dead tests."""
    found = [
        "Switch every booster off and unplug it from its feed pair. Take every vehicle, and whatever else draws track "
        "power, off the track."
    ]
    if own.detectors:
        found.append("Pull the buses off the channels of the detector boards, and keep each with its label.")
    if any(edge.kind is Kind.BREAKER for edge in own.study.circuit.edges):
        found.append("No test reads through a district's own breaker: whether one conducts without power differs.")
    turning = [one.name for one in own.study.layout.districts.values() if one.polarity == "automatic"]
    if turning:
        found.append(f"Pull the pair of {listed(turning)} off the device that turns its polarity.")
    found += [*_closed(own)]
    if BEEPER in at_hand:
        found.append(
            f"A beeper sounds below some {BEEPS_OHM:.0f} ohm, and is silent above {SILENT_OHM:.0f}: try it "
            "on a resistor of each."
        )
    if METER in at_hand:
        found.append("Hold the meter's probes together first, and take what it shows then off every reading.")
    if SUPPLY in at_hand:
        found.append(
            "Below 10 ohm an ohmmeter reads its own leads. Send 1 A through the two places from a bench supply that is "
            "limited to 1 A and 3 V, and read the millivolts between them with the meter's own probes: 46 mV is "
            "46 mohm."
        )
    if METER in at_hand or SUPPLY in at_hand:
        found.append('Readings above 100 kohm, or over the meter\'s range, are "open".')
    return tuple(found)


def live_setup(own: Bench, at_hand: Collection[str], untried: Collection[str] = ()) -> tuple[str, ...]:
    """How the wiring is set up for live tests; ``untried`` are breakers that no short on the sheet trips."""
    layout = own.study.layout
    found = [
        "Only when every dead test is right: plug everything in again, each bus into its own channel, boosters on."
    ]
    volts = max((one.voltage_v for one in layout.boosters.values()), default=0.0)
    watts = volts * volts / own.axle_ohm
    size = next((one for one in _SIZES_W if watts <= BORNE * one), math.ceil(watts / BORNE))
    told = {0.25: "1/4", 0.5: "1/2"}.get(size, f"{size:g}")
    found.append(
        f"The test axle is a resistor of {show(own.axle_ohm, DIMENSIONS[Ohms])}, {told} W, with a clip for each rail."
    )
    if size > HOT_W:
        found.append(f"It takes {watts:.1f} W and gets hot: some seconds a test, and nothing near that melts or burns.")
    if layout.about.control == "dcc" and (METER in at_hand or SUPPLY in at_hand):
        found.append("Read volts with a meter that shows the true r.m.s. of the track signal; others read it wrong.")
    if layout.about.control == "dc" and len(layout.districts) > 1:
        found.append("Set all cabs to drive the same way, as fast as they go; each has a supply of its own.")
    feeding = dict.fromkeys(one.booster for one in layout.districts.values() if one.trip_a is None)
    untold = [name for name in feeding if name in layout.boosters and layout.boosters[name].trip_a is None]
    if untold:
        found.append(
            f"No short is on this sheet for {listed(untold)}, since the layout gives no trip current there: {_LAY_ONE}."
        )
    if untried:
        found.append(
            f"No short on this sheet trips {listed([*untried])}: by what the layout gives none draws as much, or how "
            f"much one draws is not known. {capital(_LAY_ONE)}: wires that burn do not wait for a breaker."
        )
    if own.breakers:
        found.append("A breaker that does not trip at once is mended before anything else is done with power on.")
    return tuple(found)


def untried(own: Bench, tripped: Iterable[Collection[str]]) -> list[str]:
    """The breakers that no short trips, of all that shorts trip."""
    named = {name for some in tripped for name in some}
    return [name for name, *_ in own.breakers if name not in named]


def _closed(own: Bench) -> Iterable[str]:
    isolators = own.study.layout.isolators
    if isolators:
        changeovers = [name for name in isolators if isolators[name].contact == "changeover"]
        selectors = own.study.layout.selectors.values()
        turned = {contact(one.name, track) for one in selectors for track in tracks_of(one)}
        open_ = [name for name in own.study.circuit.interlocked - turned if own.state[name] == "open"]
        words = "close every isolator" if isolators.keys() - turned else ""
        if open_:
            words += f" but {listed(sorted(open_, key=natural_key))}, which interlocks keep open"
        if changeovers:
            words += "; set " + ", ".join(f"{name} to {own.state[name]}" for name in changeovers)
        if selectors:
            words += (
                "; " * bool(words)
                + "turn "
                + ", ".join(f"{one.name} to {place_of(one, own.state)}" for one in selectors)
            )
        yield f"{words[0].upper()}{words[1:]}. What a step moves is put back before the next."
    points = [name for name, control in own.study.circuit.controls.items() if control.kind == "points"]
    if points:
        diverging = [name for name in points if own.state[name] != "through"]
        words = "Set all points through" + (f", but {', '.join(diverging)} diverging" if diverging else "")
        yield f"{words}."


def moves(own: Bench, step: Step) -> str:
    """What is moved for a step."""
    isolators, found = own.study.layout.isolators, list[str]()
    for name, position in step.state:
        isolator, selector = isolators.get(name), selector_of(own.study.layout, name)
        stands = position if isolator is None else shown_position(isolator, position)
        found.append(f"{name} {stands}" if selector is None else _turned(own, step, selector))
    return ", ".join(dict.fromkeys(found))


def _turned(own: Bench, step: Step, selector: Selector) -> str:
    """Where a selector stands for a step: ``R to S2``."""
    return f"{selector.name} to {place_of(selector, {**own.state, **dict(step.state)})}"


def place(step: Step, instrument: str, stays: bool) -> tuple[str, str]:
    """Where steps are made that stand together, and where in it this one is; ``stays``: the red probe stays."""
    if step.kind == OHMS:
        how = {BEEPER: "Beeper", METER: "Ohms", SUPPLY: "1 A"}[instrument]
        if stays:
            return f"{how}, red on {step.red.words}", step.black.words
        return f"{how}, both probes move", step.black.words
    where = step.gap or step.red.words.partition(" rail of ")[2] or step.red.words
    if step.gap is not None:
        what = "volts across it" if step.kind == VOLTS else "which channels read occupied"
        wire = " with a wire across the gap in the common rail" if step.jumper is not None else ""
        return f"Test axle from detected rail to detected rail across a gap{wire}, and {what}", where
    live = {VOLTS: "Volts across the test axle", CHANNELS: "Test axle, and which channels read occupied"}
    return live.get(step.kind, "A short for a second at most, and which breaker trips"), where


def what_to_do(own: Bench, step: Step, instrument: str = SUPPLY) -> str:
    """The instruction of a step."""
    found = list[str]()
    for name, position in step.state:
        isolator = own.study.layout.isolators.get(name)
        selector = selector_of(own.study.layout, name)
        if selector is not None:
            turn = f"Turn {_turned(own, step, selector)}."
            found += [turn] if turn not in found else []
        elif isolator is None:
            found.append(f"Set the points of {name} {position}.")
        elif position in DO:
            found.append(f"{DO[position]} {name}.")
        else:
            found.append(f"Set {name} {shown_position(isolator, position)}.")
    where = place(step, instrument, True)[1]
    if step.jumper is not None:
        found.append("Bridge the gap in the common rail with a wire.")
    laid = "from detected rail to detected rail, between" if step.gap is not None else "across the rails of"
    if step.kind == OHMS:
        act = DOES[instrument]
    elif step.kind == CHANNELS:
        act = f"Lay the test axle {laid} {where}. Which channels read occupied?"
    elif step.kind == VOLTS:
        act = f"Lay the test axle {laid} {where}. How many volts are across it?"
    else:
        act = f"Lay a short across the rails of {where}, for a second at most. Which breaker trips?"
    return " ".join([*found, act])
