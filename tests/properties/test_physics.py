"""Physics that holds for every layout: Kirchhoff, power, Rayleigh, contacts against volts, and the worst places."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import attrs
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.circuit.state import OFF
from blockcheck.network.expand import expand
from blockcheck.solver.drops import Conduct
from blockcheck.solver.linear import GUARD_OHMS
from blockcheck.solver.network import Network, Resistors, Sinks
from blockcheck.solver.solve import Operating, operating_point
from tests.outside.networks.pairs import effective_resistance
from tests.outside.yards import Values, case_of, yards


def electrics_of(values: Values) -> Electrics:
    case = case_of(values)
    electrics = Electrics.of(case, case.operations[0])
    assert not electrics.grid.lacking
    return electrics


def branches(network: Network, found: Operating) -> Iterator[tuple[int, int, float, float]]:
    """Every branch: its ends, the amperes from the first to the second, and the volts that it adds on that way."""
    for a, b, ohms, amperes in zip(*network.resistors, found.resistor_amperes, strict=True):
        yield a, b, amperes, -ohms * amperes
    for a, b, volts, ohms, amperes in zip(*network.sources, found.source_amperes, strict=True):
        yield b, a, amperes, volts - ohms * amperes
    for a, b, volts, ohms, amperes, state in zip(*network.drops, found.drop_amperes, found.conduct, strict=True):
        loses = found.volts[a] - found.volts[b] if state == Conduct.BLOCKED else volts * state + ohms * amperes
        yield a, b, amperes, -loses


def apart(electrics: Electrics) -> bool:
    """Whether every block has its current from the booster of the district that feeds it, and from no other."""
    case, pieces = electrics.study, electrics.feeding.now.pieces_held
    homes = {block: case.layout.districts[name].booster for block, name in electrics.feeding.reached.items()}
    hot = {name: pieces[node] for name, node in case.circuit.hot.items()}
    return len(set(hot.values())) == len(hot) and all(
        pieces[case.circuit.detected[block]] == hot[booster] for block, booster in homes.items()
    )


@given(yards(frogs=False))
def test_the_budget_is_what_the_boosters_deliver(values: Values) -> None:
    """The vehicles of a booster's blocks, axles and what hold resistors keep awake among them, draw all that it gives,
    where no voltage is so low that what has power sleeps."""
    electrics = electrics_of(values)
    found, lit = electrics.loaded, electrics.feeding.supply
    assume(apart(electrics))
    rows = electrics.loads.rows()
    assume(not any(rows[number].block in lit for number in (*found.asleep, *found.unfed)))
    drawn = {draw.name: draw.current_a for draw in Budget.of(electrics.study, electrics.operation).boosters()}
    event(f"held: {bool(electrics.feeding.reached.keys() - lit.keys())}, axles: {bool(electrics.loads.across)}")
    more = dict.fromkeys(drawn, 0.0)  # of axles: they see less than the booster gives
    amperes = list(found.resistor_amperes)[len(found.resistor_amperes) - len(electrics.loads.across) :]
    siemens: dict[str, float] = {}
    for one, amount in zip(electrics.loads.across, amperes, strict=True):
        district = electrics.feeding.reached.get(one.block)
        if district is not None:
            more[electrics.study.layout.districts[district].booster] -= amount
            siemens[one.block] = siemens.get(one.block, 0.0) + 1 / one.ohms
    for block, conducts in siemens.items():
        district = electrics.feeding.reached[block]
        more[electrics.study.layout.districts[district].booster] += electrics.feeding.through(block, conducts)
    for name, number in electrics.grid.sources.items():
        assert drawn[name] == pytest.approx(found.source_amperes[number] + more[name], rel=1e-7, abs=1e-6)
        assert more[name] >= -1e-9


@given(yards())
def test_kirchhoff_and_power(values: Values) -> None:
    """The sums at every node and round every branch, the law of every drop and load, and the powers.

    Resistances, sources, drops that only oppose and constant currents have one answer at most (strictly monotone
    complementarity), so what fulfils all of these is the operating point, however it was found.
    """
    electrics = electrics_of(values)
    network, found = electrics.loaded_network, electrics.loaded
    assert found.converged
    sums = [0.0] * network.nodes
    largest = max(1.0, *(abs(amperes) for _, _, amperes, _ in branches(network, found)))
    slack = 2 * GUARD_OHMS * largest  # what the solver puts before a drop in a loop without any resistance
    for a, b, amperes, rise in branches(network, found):
        sums[a] -= amperes
        sums[b] += amperes
        if not math.isnan(found.volts[a]):
            assert found.volts[b] - found.volts[a] == pytest.approx(rise, abs=slack)
    drawn = list(zip(network.sinks.a, network.sinks.b, found.sink_amperes, strict=True))
    for a, b, amperes in drawn:
        sums[a] -= amperes
        sums[b] += amperes
    assert max(map(abs, sums)) <= 1e-7 * largest
    drops = zip(*network.drops, found.drop_amperes, strict=True)
    for a, b, volts, ohms, amperes in drops:  # no drop drives a current, none holds off more than it can
        held = found.volts[a] - found.volts[b]
        if abs(amperes) > 1e-7 * largest:
            assert held == pytest.approx(math.copysign(volts, amperes) + ohms * amperes, abs=slack)
        elif not math.isnan(held):
            assert abs(held) <= volts + slack
    for k, (a, b, amperes) in enumerate(drawn):
        awake, least = network.sinks.amperes[k], network.sinks.minimum_volts[k]
        if k in found.unfed:
            assert amperes == 0
        elif k in found.asleep:
            assert amperes == network.sinks.asleep_amperes[k]
        else:
            assert amperes == awake
            assert found.volts[a] - found.volts[b] >= least - 1e-6
    delivered = sum(
        amperes * (volts - ohms * amperes)
        for volts, ohms, amperes in zip(*network.sources[2:], found.source_amperes, strict=True)
    )
    heat = sum(ohms * amperes**2 for ohms, amperes in zip(network.resistors.ohms, found.resistor_amperes, strict=True))
    heat += sum(abs(amperes) * volts for volts, amperes in zip(network.drops.volts, found.drop_amperes, strict=True))
    used = sum(amperes * (found.volts[a] - found.volts[b]) for a, b, amperes in drawn if amperes)
    assert delivered == pytest.approx(heat + used, rel=1e-6, abs=1e-6 * largest)
    event(f"drops held off: {Conduct.BLOCKED in found.conduct}, asleep: {bool(found.asleep)}")


def loops(values: Values) -> dict[tuple[str, str], float]:
    """Ohms between the rails at both ends and in the middle of every block."""
    case = case_of(values)
    grid = expand(case.wiring, case.circuit, case.circuit.usual, {})
    pairs = []
    for block, track in grid.tracks.items():
        for name, at_m in (("near", 0.0), ("middle", track.ladder.length_m / 2), ("far", track.ladder.length_m)):
            place = track.nearest(at_m)
            pairs.append(((block, name), (track.detected[place], track.common[place])))
    ohms = effective_resistance(grid.network, [pair for _, pair in pairs])
    return {key: one for (key, _), one in zip(pairs, ohms, strict=True)}


def thicker(values: Values, data: st.DataObject) -> str:
    harness = values["harnesses"][data.draw(st.sampled_from(["front", "back"]))]
    harness[data.draw(st.sampled_from(["bus", "common", "feeder"]))] = "6 mm2"
    return "a thicker wire"


def one_more_drop(values: Values, data: st.DataObject) -> str:
    values["blocks"]["A1"]["feeders_at"].append(data.draw(st.sampled_from(["0 m", "0.05 m", "0.2 m", "0.3 m"])))
    return "one more drop"


def joint_without_gap(values: Values, data: st.DataObject) -> str:
    assume(bool(values["joints"]))
    data.draw(st.sampled_from(values["joints"]))["gap"] = "none"
    return "a joint without gap"


def close_isolator(values: Values, data: st.DataObject) -> str:
    isolators = [one for one in values["isolators"].values() if one.get("usually") == "open"]
    assume(isolators)
    data.draw(st.sampled_from(isolators))["usually"] = "closed"
    return "an isolator closed"


def another_joint(values: Values, data: st.DataObject) -> str:
    pair = data.draw(st.lists(st.sampled_from([*values["blocks"]]), min_size=2, max_size=2, unique=True))
    assume(all({*one["blocks"]} != {*pair} for one in values["joints"]))  # two ways to meet contradict each other
    values["joints"].append({"blocks": pair, "gap": data.draw(st.sampled_from(["none", "detected", "common"]))})
    return "another joint"


@given(yards(loads=False), st.data())
def test_copper_never_raises_a_resistance(values: Values, data: st.DataObject) -> None:
    """Rayleigh's monotonicity law: between the rails of every block, however it hangs together with what is added."""
    add = data.draw(st.sampled_from([thicker, one_more_drop, joint_without_gap, close_isolator, another_joint]))
    if add is one_more_drop:
        values["blocks"]["A1"]["feeders_at"] = ["0.1 m"]
        values["blocks"]["A1"].pop("feeders", None)
    before = loops(values)
    what = add(values, data)
    after = loops(values)
    assert after.keys() == before.keys()
    for key, ohms in before.items():
        assert after[key] <= ohms * (1 + 1e-9), key
    event(f"{what}: {'less' if any(after[key] < before[key] * 0.999 for key in before) else 'the same'}")


def volts_of(values: Values) -> dict[tuple[str, str], float]:
    """Volts between the rails at both ends of every block, without loads; nought where nothing feeds them."""
    case = case_of(values)
    grid = expand(case.wiring, case.circuit, case.circuit.usual, {})
    found = operating_point(grid.network)
    return {
        (block, name): across(found, track.detected[place], track.common[place]) or 0.0
        for block, track in grid.tracks.items()
        for name, place in (("near", 0), ("far", -1))
    }


def across(found: Operating, a: int, b: int) -> float | None:
    """Volts from one node to another; None where a source feeds neither, or not both: that is told by the graph."""
    if found.component[a] != found.component[b] or found.reference[found.component[a]] < 0:
        return None
    return found.volts[a] - found.volts[b]


@given(yards(loads=False, drops=False, boosters=1, changeovers=False, frogs=False), st.data())
def test_opening_an_isolator_never_raises_a_voltage(values: Values, data: st.DataObject) -> None:
    """Nor does it lower a loop resistance. Of resistances on one booster, with contacts that only open; a wheelset or
    a load that is cut off may well raise a voltage elsewhere."""
    closed = [one for one in values["isolators"].values() if one.get("usually") != "open"]
    assume(closed)
    before, ohms_before = volts_of(values), loops(values)
    data.draw(st.sampled_from(closed))["usually"] = "open"
    after, ohms_after = volts_of(values), loops(values)
    assert all(after[key] <= volts + 1e-9 for key, volts in before.items())
    assert all(ohms_after[key] >= ohms * (1 - 1e-9) for key, ohms in ohms_before.items())
    event(f"a voltage falls: {any(after[key] < volts - 1e-3 for key, volts in before.items())}")


@given(yards(loads=False))
def test_contacts_and_network_agree(values: Values) -> None:
    """A block is on or trickles in the contacts' view exactly when it has voltage in the network."""
    case = case_of(values)
    now = case.usual
    grid = expand(case.wiring, case.circuit, now.state, {})
    found = operating_point(grid.network)
    least = min(booster.voltage_v for booster in case.layout.boosters.values())
    short = any(turnout.frog_gaps is False for turnout in case.layout.turnouts.values())
    for block, track in grid.tracks.items():
        seen = [across(found, a, b) for a, b in zip(track.detected, track.common, strict=True)]
        if now.power(block) == OFF:
            assert all(volts is None or abs(volts) < 1e-6 for volts in seen), block
        elif short:  # a frog that is not cut may short a place of it: elsewhere there is something left, of what a
            # hold resistor lets through some microvolts
            assert any(volts is not None and abs(volts) > 1e-7 for volts in seen), block
        else:  # bridged boosters share what they differ by, detectors hold off no more than they drop
            assert all(volts is not None and volts > least - 1.5 for volts in seen), block
        event(now.power(block))


def dense(electrics: Electrics, block: str, marks: Sequence[float]) -> Electrics:
    """The same electrics with many more places in one block."""
    more: dict[str, list[float]] = {block: [*marks]}
    for name, track in electrics.grid.tracks.items():
        more.setdefault(name, []).extend(track.at_m)
    found = Electrics(electrics.study, electrics.operation)
    found.__dict__["grid"] = expand(electrics.study.wiring, electrics.study.circuit, electrics.feeding.now.state, more)
    return found


def with_a_resistor(network: Network, rest: Operating, a: int, b: int, ohms: float) -> Network:
    """One more resistance; the loads draw what they drew."""
    firsts, seconds, values = network.resistors
    more = Resistors([*firsts, a], [*seconds, b], [*values, ohms])
    return attrs.evolve(network, resistors=more, sinks=as_they_are(network, rest))


def with_a_load(network: Network, rest: Operating, a: int, b: int, amperes: float) -> Network:
    """One more load; who sleeps, sleeps on, and the rest draw what they drew."""
    firsts, seconds, values, least, asleep = as_they_are(network, rest)
    more = Sinks([*firsts, a], [*seconds, b], [*values, amperes], [*least, -math.inf], [*asleep, 0.0])
    return attrs.evolve(network, sinks=more)


def as_they_are(network: Network, rest: Operating) -> Sinks:
    count = len(network.sinks.a)
    return Sinks(network.sinks.a, network.sinks.b, rest.sink_amperes, [-math.inf] * count, [0.0] * count)


@settings(max_examples=40)
@given(yards(), st.data())
def test_the_worst_place_is_the_worst(values: Values, data: st.DataObject) -> None:
    """Volts under the probe, short and smallest vehicle, each put to many places one by one and solved anew.

    Through bridged channels too, where which detector conducts hangs on the place.
    """
    electrics = electrics_of(values)
    live = [block for block in electrics.grid.tracks if electrics.live(block)]
    assume(live)
    block = data.draw(st.sampled_from(live))
    length = electrics.grid.tracks[block].ladder.length_m
    lowest, short, seen = (
        electrics.lowest_voltage(block),
        electrics.least_short(block),
        least_detected(electrics, block),
    )
    told = [spot.at_m for spot in (lowest, short, seen) if spot is not None]
    fine = dense(electrics, block, [*told, *(length * step / 24 for step in range(25))])
    pairs = list(zip(fine.grid.tracks[block].detected, fine.grid.tracks[block].common, strict=True))
    # where rails bridge detectors, one of them may begin to conduct between two places: what is told is worse then
    least = 0.9 if bridged_at(electrics, block) else 1.0
    if lowest is not None:
        assert fine.probe is not None
        network, rest = fine.rest(block)
        volts = []
        for a, b in pairs:
            found = operating_point(with_a_load(network, rest, a, b, fine.probe.amperes))
            volts.append(found.volts[a] - found.volts[b])
        assert within(lowest.value, max(0.0, min(volts)), least, 1e-6)
    assert short is not None
    assert within(short.value, min(amperes_through(fine.grid.network, fine.unloaded, pairs, 0.0)), least, 1e-6)
    if seen is not None:
        assert fine.smallest is not None
        network, rest = fine.emptied(block)
        if electrics.feeding.divided(block):
            drawn = carried(fine, block, network, rest, pairs, fine.smallest.axle_ohm or math.inf)
        else:
            drawn = amperes_through(network, rest, pairs, fine.smallest.axle_ohm or math.inf)
        assert within(seen.value, max(0.0, min(drawn)), least, 1e-9)
    event(f"bridged: {bridged_at(electrics, block)}")


def carried(
    fine: Electrics, block: str, network: Network, rest: Operating, pairs: Sequence[tuple[int, int]], ohms: float
) -> Iterator[float]:
    """What the block's channel carries more for a resistance laid across the rails, place by place."""
    before = fine.through_channel(rest, block) or 0.0
    for a, b in pairs:
        found = operating_point(with_a_resistor(network, rest, a, b, ohms))
        yield abs((fine.through_channel(found, block) or 0.0) - before)


def within(told: float, true: float, least: float, slack: float) -> bool:
    """Whether what is told is the truth to a millionth, or less than it down to ``least`` times."""
    return least * true * (1 - 1e-6) - slack <= told <= true * (1 + 1e-6) + slack


def amperes_through(
    network: Network, rest: Operating, pairs: Sequence[tuple[int, int]], ohms: float
) -> Iterator[float]:
    """The current of a resistance laid across the rails, place by place; what a short would add to one that is there
    already is not defined."""
    already = rest.linear.transfer([(a, b, a, b) for a, b in pairs])
    for (a, b), before in zip(pairs, already, strict=True):
        if before + ohms > 1e-9:
            yield operating_point(with_a_resistor(network, rest, a, b, ohms)).resistor_amperes[-1]


@settings(max_examples=40)
@given(yards(frogs=False))
def test_the_smallest_vehicle_alone(values: Values) -> None:
    """One network serves all blocks: what it takes for the rest of the load is what each block's own would have, but
    for wheelsets elsewhere, whose current is that of the layout as it stands."""
    electrics = electrics_of(values)
    for block, track in electrics.grid.tracks.items():
        found = least_detected(electrics, block, divided=False)
        if found is None or electrics.smallest is None:
            continue
        rows = [row for row in electrics.loads.rows() if row.a not in track.detected]
        network = electrics._network(rows, across=False)
        firsts, seconds, ohms = network.resistors
        more = [one[:3] for one in electrics.loads.across if one.train is None or one.a not in track.detected]
        columns = zip(*more, strict=True) if more else ((), (), ())
        resistors = Resistors(*([*old, *new] for old, new in zip((firsts, seconds, ohms), columns, strict=True)))
        network = attrs.evolve(network, resistors=resistors)
        pairs = list(zip(track.detected, track.common, strict=True))
        axle = electrics.smallest.axle_ohm or math.inf
        alone = min(amperes_through(network, operating_point(network), pairs, axle))
        assert found.value <= max(alone, 0.0) * (1 + 1e-4) + 1e-7
        own = bridged_at(electrics, block)
        assert own or found.value >= alone * (1 - 1e-4) - 1e-7


def bridged_at(electrics: Electrics, block: str) -> bool:
    return electrics._bridged(electrics.grid.network, electrics.unloaded, block)
