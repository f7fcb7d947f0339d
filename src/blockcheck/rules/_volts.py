"""What the rules on volts and amperes along the wires share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from blockcheck.analysis.budgets.bounds import bounded
from blockcheck.analysis.power.at_best import at_best
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.limits import breaker
from blockcheck.analysis.study import Study
from blockcheck.circuit.ladder import panel_ohm, stretch_ohm
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.spans import Path
from blockcheck.model.quantities import DIMENSIONS, Ohms, Volts, show
from blockcheck.model.tables.panels import panel_of
from blockcheck.rules._rule import Lacks, listed, metres, unbuilt


def usual(study: Study) -> Electrics:
    """The solved network as the layout usually stands."""
    return Electrics.of(study, study.operations[0])


def complete(study: Study, stand: bool) -> Iterator[str | Lacks]:
    """The blocks that are in the network and live, and those that lack data for it, or are not in the circuit at all.

    ``stand`` leaves out throats, where trains never stand. A block that is asleep has nothing to check.
    """
    electrics = usual(study)
    for block, fed in study.wiring.fed.items():
        if stand and fed.block.kind == "throat":
            continue
        if block not in study.circuit.detected:
            if fed.block.unpowered is None:
                yield unbuilt(study, block)
            continue
        needs = lacking(study).get(block)
        if needs is not None:
            yield Lacks(block, needs)
        elif electrics.live(block):
            yield block


Judge = Callable[[Study, str, str], Iterator[Finding]]
"""What a rule says of a block in a study; the words say of which data that holds whatever they are."""


def whatever(study: Study, lacks: Lacks, judge: Judge) -> Iterator[Finding | Lacks]:
    """What is wrong with a block that lacks data, whatever they are; where nothing is, that it cannot be judged."""
    best = study.always(at_best).mended_as(study)
    judged = usual(best).live(lacks.subject)
    found = list(judge(best, lacks.subject, f", whatever {listed(lacks.needs, 2)} may be")) if judged else []
    yield from found
    if not found:
        yield lacks


def lacking(study: Study) -> Mapping[str, tuple[str, ...]]:
    """Block -> the data that keep it out of the network, as they are written."""
    return usual(study).lacking


def as_bound(study: Study, block: str) -> tuple[str, tuple[Label, ...]]:
    """What to add to the message and the lines of a finding whose value is a bound: that it is, and for want of what.

    Nothing where the value is what it is.
    """
    cause = study.always(bounded, study.operations[0]).get(block)
    if cause is None:
        return "", ()
    needs = lacking(study)[cause]
    words = f"; that is a bound, since {cause} lacks data and was left out"
    return words, (Label(("blocks", cause), f"{cause} needs {', '.join(needs)}"),)


def at_place(block: str, at_m: float, study: Study) -> str:
    """A place of a block, as a clause that stands anywhere in a sentence."""
    length = study.layout.blocks[block].length_m or 0.0
    if at_m <= 1e-9:
        return f"at the near end of {block}"
    if at_m >= length - 1e-9:
        return f"at the far end of {block}"
    return f"{metres(at_m, study)} from the near end of {block}"


class Loss(NamedTuple):
    """A part of the way to a wheel and back: its resistance or drop in words, its line, and how to lose less there."""

    volts: float
    at: Path
    words: str
    help: str


def largest_loss(study: Study, block: str, at_m: float, amperes: float, rest: float = 0.0) -> Loss:
    """The part of the way to a place of a block that loses most of the voltage: the line to look at first.

    Each part is taken by itself, as if all current came by the nearest drop; only its size beside the others counts.
    ``rest`` is what else flows through booster and feed, in amperes.
    """
    electrics, layout, fed = usual(study), study.layout, study.wiring.fed[block]
    name = str(fed.block.harness)
    ladder = electrics.grid.tracks[block].ladder
    district = layout.districts[electrics.feeding.supply[block]]
    near = min(ladder.drops_m, key=lambda drop: abs(drop - at_m), default=at_m)
    along = ladder.lead_m + near
    bus, common = (
        ladder.wire_ohm(wire, 0.0, along, ladder.lead_m + ladder.length_m)
        for wire in (ladder.bus_ohm_per_m, ladder.common_ohm_per_m)
    )
    rails, drops = 2 * ladder.rail_ohm_per_m * abs(at_m - near), 2 * ladder.feeder_ohm
    output = layout.boosters[district.booster].resistance_ohm
    wire = "bus" if bus >= common else "common"
    of, thicker = ("harnesses", name), "take a thicker bus and common, or a shorter lead"
    losses = [
        Loss((bus + common) * amperes, (*of, wire), f"bus and common have {ohms(bus + common)} up to there", thicker),
        Loss(
            rails * amperes, (*of, "rail"), f"the rails have {ohms(rails)} from the nearest drop", "put in more drops"
        ),
        Loss(drops * amperes, (*of, "feeder"), f"a pair of drops has {ohms(drops)}", "take thicker drops, or more"),
        Loss(
            output * (amperes + rest),
            ("boosters", district.booster, "resistance"),
            f"its output has {ohms(output)}",
            "take a booster of less output resistance",
        ),
    ]
    if district.feed is not None:
        pair = 2 * stretch_ohm(layout, district.feed)
        path, words = ("districts", district.name, "feed"), f"the feed has {ohms(pair)} there and back"
        losses.append(Loss(pair * (amperes + rest), path, words, "take a thicker or shorter feed"))
    if fed.board is not None and fed.board.feed is not None:
        wire_ohm, path = stretch_ohm(layout, fed.board.feed), ("boards", fed.board.name, "feed")
        losses.append(
            Loss(wire_ohm * amperes, path, f"its board's feed has {ohms(wire_ohm)}", "take a thicker or shorter feed")
        )
    if fed.type is not None and fed.type.sensing == "series":
        path, words = ("board_types", fed.type.name, "drop"), f"the detector takes off {volts(fed.type.drop_v)}"
        losses.append(Loss(fed.type.drop_v, path, words, "take a board that drops less"))
    for isolator in study.wiring.host(block).isolators:
        poles = 1 + isolator.switches_return
        contact, has = poles * isolator.contact_resistance_ohm, "contacts have" if poles > 1 else "contact has"
        path, words = ("isolators", isolator.name, "contact_resistance"), f"its {has} {ohms(contact)}"
        losses.append(Loss(contact * amperes, path, words, "take an isolator of a better contact"))
        panel = panel_of(layout, isolator)
        if panel is not None:
            there = poles * panel_ohm(layout, panel, (panel.from_board_m or 0.0) + (panel.to_bus_m or 0.0))
            path, words = ("panels", panel.name, "wire"), f"its panel's wires have {ohms(there)} there and back"
            losses.append(Loss(there * amperes, path, words, "take a thicker wire to the panel"))
    return max(losses, key=lambda loss: loss.volts)


def ohms(value: float) -> str:
    """A resistance for people."""
    return show(value, DIMENSIONS[Ohms])


def marginal(holds: bool) -> Severity | None:
    """How bad a finding is: a warning where what the rule asks holds, and its margin alone is missing."""
    return Severity.WARNING if holds else None


def apart(value: float, limit: float, kind: object) -> tuple[str, str]:
    """A value and its limit for people, with as many digits as it takes to tell them apart."""
    for digits in range(3, 9):
        told = show(value, DIMENSIONS[kind], digits=digits), show(limit, DIMENSIONS[kind], digits=digits)
        if told[0] != told[1]:
            break
    return told


def volts(value: float) -> str:
    """A voltage for people."""
    return show(value, DIMENSIONS[Volts])


def trip_of(study: Study, block: str) -> tuple[float | None, float | None, str | None]:
    """Trip current and delay of the breaker that feeds a block now, and its district."""
    district = usual(study).feeding.supply.get(block)
    if district is None:
        return None, None, None
    return (*breaker(study, district), district)
