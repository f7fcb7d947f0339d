"""What was read last, on the test sheet: each reading at its step, with its day, who took it, and with what."""

from __future__ import annotations

from attrs import evolve

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.units import benches
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.bench import BenchAnswer
from blockcheck.answers.workshop.readings import Reading, read_readings, tabled
from blockcheck.core.words import listed
from blockcheck.text.toml import read_toml


def with_readings(study: Study, sheet: BenchAnswer, data: bytes, name: str) -> BenchAnswer:
    """A sheet with the readings that were taken. Raises InputError with every fault of them."""
    tests = {id_: step for part in benches(study) for id_, step in part.by_id.items()}
    readings = read_readings(data, name, Bench.of(study), tests)
    return evolve(sheet, read={one.step.id: _words(one) for one in readings}, taken=_taken(data, name, readings))


def _words(reading: Reading) -> str:
    return f"{reading.words} ({reading.instrument})" if reading.instrument else reading.words


def _taken(data: bytes, name: str, readings: tuple[Reading, ...]) -> str:
    """When they were taken, by whom and with what, as far as the sheet says it."""
    values = {} if tabled(data, name) else read_toml(data, name)[1]
    told = [str(values[key]) for key in ("date", "who") if values.get(key)]
    instruments = list(dict.fromkeys(one.instrument for one in readings if one.instrument))
    told += [f"with {listed(instruments)}"] if instruments else []
    return ", ".join(told)
