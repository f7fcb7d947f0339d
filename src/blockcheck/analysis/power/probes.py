"""What is put to the worst place of every block, and what trains draw: from the layout alone, without volts."""

from __future__ import annotations

from math import fsum
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.model.datum import datum
from blockcheck.model.layout import Expected, Load, Train
from blockcheck.model.operate import Operation, vehicles


class Probe(NamedTuple):
    """What is put to the worst place of every block: its name, what it draws, and the train or load that it is."""

    name: str
    amperes: float
    train: str | None = None
    load: str | None = None


def heaviest(study: Study, operation: Operation) -> Probe | None:
    """The heaviest running train, else the heaviest running locomotive; None where no data tell one."""
    layout = study.layout
    trains = [
        Probe(one.train, sum(draw[0] for draw in train_draws(study, layout.trains[one.train], "running")), one.train)
        for one in operation.trains
        if one.state == "running"
    ]
    loads = [
        Probe(load.name, load.running_a, load=load.name)
        for load in vehicles(study.wiring)
        if load.locomotive and load.running_a is not None
    ]
    return max([one for one in trains if one.amperes] or loads, key=lambda one: (one.amperes, one.name), default=None)


def smallest(study: Study) -> Load | None:
    """The smallest vehicle that is meant to be seen: of those with an axle resistance or an idle current, the one that
    draws least."""
    volts = max((booster.voltage_v for booster in study.layout.boosters.values()), default=0.0)

    def drawn(load: Load) -> tuple[float, str]:
        return (load.idle_a or 0.0) + (volts / load.axle_ohm if load.axle_ohm else 0.0), load.name

    seen = [load for load in vehicles(study.wiring) if load.axle_ohm or load.idle_a]
    return min(seen, key=drawn, default=None)


def train_draws(study: Study, train: Train, state: str) -> list[tuple[float, float, bool]]:
    """Amperes, awake and asleep, of each vehicle of a train that draws any; and whether it is a locomotive."""
    draws: list[tuple[float, float, bool]] = []
    for name, count in train.vehicles.items():
        load = study.layout.loads.get(name)
        current = load.current_a(state) if load is not None else None
        if load is not None and current:
            draws += [(current, load.asleep_a if load.locomotive else current, load.locomotive)] * count
    return draws


def train_siemens(study: Study, train: Train) -> float:
    """What a train's axles conduct between the rails."""
    loads = [(study.layout.loads.get(name), count) for name, count in train.vehicles.items()]
    return sum(count / load.axle_ohm for load, count in loads if load is not None and load.axle_ohm)


def train_current(study: Study, train: Train, state: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of a train in a state, its axles aside, and the data that it lacks."""
    amps, needs = 0.0, list[str]()
    for name, count in train.vehicles.items():
        load = study.layout.loads.get(name)
        if load is None:
            continue
        current = load.current_a(state)
        if current is not None:
            amps += current * count
        elif load.locomotive:
            needs.append(datum("loads", name, state))
    return amps, tuple(needs)


def expected_current(study: Study, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of what a district expects, its axles aside, and the data that are missing."""
    expects, loads = study.layout.districts[district].expects, study.layout.loads
    amps = [(_one(study, one) or 0.0) * one.count for one in expects]
    return fsum(amps), tuple(_missing(one, loads.get(one.load)) for one in expects if _lacks(study, one))


def expected_siemens(study: Study, district: str) -> float:
    """What the axles of what a district expects conduct between the rails."""
    expects, loads = study.layout.districts[district].expects, study.layout.loads
    found = [(loads[one.load].axle_ohm, one.count) for one in expects if one.load in loads]
    return fsum(count / ohms for ohms, count in found if ohms)


def heaviest_expected(study: Study, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of the heaviest single vehicle that a district expects, with its axles, and the data that are missing."""
    expects, loads, volts = study.layout.districts[district].expects, study.layout.loads, volts_of(study, district)
    axles = {one.load: loads[one.load].axle_ohm for one in expects if one.load in loads}
    drawn = [(_one(study, one) or 0.0) + (volts / ohms if (ohms := axles.get(one.load)) else 0.0) for one in expects]
    return max(drawn, default=0.0), expected_current(study, district)[1]


def volts_of(study: Study, district: str) -> float:
    """What a district's booster gives, the most that lies across any axle in it; nought where it has none."""
    booster = study.layout.boosters.get(study.layout.districts[district].booster)
    return booster.voltage_v if booster is not None else 0.0


def lightest_expected(study: Study, district: str) -> float:
    """Amperes of the locomotive that draws least of those that a district expects; nought where none is known."""
    loads, expects = study.layout.loads, study.layout.districts[district].expects
    drawn = [_one(study, one) for one in expects if one.load in loads and loads[one.load].locomotive]
    return min((one for one in drawn if one is not None), default=0.0)


def _lacks(study: Study, expected: Expected) -> bool:
    """Whether it is not known what an expected vehicle draws: a wagon with axles draws nothing else."""
    load = study.layout.loads.get(expected.load)
    return _one(study, expected) is None and (load is None or load.locomotive or not load.axle_ohm)


def _missing(expected: Expected, load: Load | None) -> str:
    wagon = (
        load is not None
        and not load.locomotive
        and all(load.current_a(state) is None for state in ("idle", "running", "stalled"))
    )
    return datum("loads", expected.load, "axle" if wagon else expected.state)


def _one(study: Study, expected: Expected) -> float | None:
    load = study.layout.loads.get(expected.load)
    return load.current_a(expected.state) if load is not None else None
