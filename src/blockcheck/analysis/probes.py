"""What is put to the worst place of every block, and what trains draw: from the layout alone, without volts."""

from __future__ import annotations

from math import fsum

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.model.layout import Expected, Load, Train
from blockcheck.model.operate import Operation, vehicles


@frozen
class Probe:
    """What is put to the worst place of every block: its name, what it draws, and the train or load that it is."""

    name: str
    amperes: float
    train: str | None = None
    load: str | None = None


def heaviest(case: Case, operation: Operation) -> Probe | None:
    """The heaviest running train, else the heaviest running locomotive; None where no data tell one."""
    layout = case.layout
    trains = [
        Probe(one.train, sum(draw[0] for draw in train_draws(case, layout.trains[one.train], "running")), one.train)
        for one in operation.trains
        if one.state == "running"
    ]
    loads = [
        Probe(load.name, load.running_a, load=load.name)
        for load in vehicles(case.wiring)
        if load.locomotive and load.running_a is not None
    ]
    return max([one for one in trains if one.amperes] or loads, key=lambda one: (one.amperes, one.name), default=None)


def smallest(case: Case) -> Load | None:
    """The smallest vehicle that is meant to be seen: of those with an axle resistance or an idle current, the one that
    draws least."""
    volts = max((booster.voltage_v for booster in case.layout.boosters.values()), default=0.0)

    def drawn(load: Load) -> tuple[float, str]:
        return (load.idle_a or 0.0) + (volts / load.axle_ohm if load.axle_ohm else 0.0), load.name

    seen = [load for load in vehicles(case.wiring) if load.axle_ohm or load.idle_a]
    return min(seen, key=drawn, default=None)


def train_draws(case: Case, train: Train, state: str) -> list[tuple[float, float, bool]]:
    """Amperes, awake and asleep, of each vehicle of a train that draws any; and whether it is a locomotive."""
    draws: list[tuple[float, float, bool]] = []
    for name, count in train.vehicles.items():
        load = case.layout.loads.get(name)
        current = load.current_a(state) if load is not None else None
        if load is not None and current:
            draws += [(current, load.asleep_a if load.locomotive else current, load.locomotive)] * count
    return draws


def train_siemens(case: Case, train: Train) -> float:
    """What a train's axles conduct between the rails."""
    loads = [(case.layout.loads.get(name), count) for name, count in train.vehicles.items()]
    return sum(count / load.axle_ohm for load, count in loads if load is not None and load.axle_ohm)


def train_current(case: Case, train: Train, state: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of a train in a state, and the data that it lacks. Wagons draw what their axles let through."""
    amps, needs = 0.0, list[str]()
    for name, count in train.vehicles.items():
        load = case.layout.loads.get(name)
        if load is None:
            continue
        current = load.current_a(state)
        if current is not None:
            amps += current * count
        elif load.locomotive:
            needs.append(f"loads.{name}.{state}")
    return amps, tuple(needs)


def expected_current(case: Case, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of what a district expects, and the data that are missing."""
    amps, needs = list[float](), list[str]()
    for expected in case.layout.districts[district].expects:
        one = _one(case, expected)
        if one is None:
            needs.append(f"loads.{expected.load}.{expected.state}")
        else:
            amps.append(one * expected.count)
    return fsum(amps), tuple(needs)


def heaviest_expected(case: Case, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of the heaviest single vehicle that a district expects, and the data that are missing."""
    amps, needs = 0.0, list[str]()
    for expected in case.layout.districts[district].expects:
        one = _one(case, expected)
        if one is None:
            needs.append(f"loads.{expected.load}.{expected.state}")
        else:
            amps = max(amps, one)
    return amps, tuple(needs)


def lightest_expected(case: Case, district: str) -> float:
    """Amperes of the locomotive that draws least of those that a district expects; nought where none is known."""
    loads, expects = case.layout.loads, case.layout.districts[district].expects
    drawn = [_one(case, one) for one in expects if one.load in loads and loads[one.load].locomotive]
    return min((one for one in drawn if one is not None), default=0.0)


def _one(case: Case, expected: Expected) -> float | None:
    load = case.layout.loads.get(expected.load)
    return load.current_a(expected.state) if load is not None else None
