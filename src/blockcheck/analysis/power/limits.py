"""What currents and voltages are held against."""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.spans import Path
from blockcheck.model.standards import Ampacity, ampacity


def breaker(study: Study, district: str) -> tuple[float | None, float | None]:
    """Trip current and delay of a district's breaker: its own, else its booster's. Amperes and seconds."""
    own = study.layout.districts[district]
    booster = study.layout.boosters.get(own.booster)
    trip = own.trip_a if own.trip_a is not None else booster.trip_a if booster else None
    delay = own.delay_s if own.delay_s is not None else booster.delay_s if booster else None
    return trip, delay


def behind_breaker(study: Study, district: str) -> tuple[str, ...]:
    """The districts whose current flows through a district's breaker: itself, and where it has none of its own, all
    that its booster feeds."""
    own, districts = study.layout.districts[district], study.layout.districts
    if own.trip_a is not None:
        return (district,)
    return tuple(name for name, one in districts.items() if name == district or one.booster == own.booster)


def breaker_line(study: Study, district: str, key: str) -> Path:
    """Where ``trip`` or ``delay`` of a district's breaker is written: its own, else its booster's."""
    own = study.layout.districts[district]
    mine = own.trip_a if key == "trip" else own.delay_s
    return ("districts", district, key) if mine is not None else ("boosters", own.booster, key)


def least_voltage(study: Study, district: str) -> float:
    """The least voltage allowed at a wheel: the larger of the limit at any wheel and what the allowed drop leaves."""
    booster = study.layout.boosters[study.layout.districts[district].booster]
    return max(study.layout.least_voltage_v or 0.0, (1 - study.layout.limits.voltage_drop) * booster.voltage_v)


def conductor_limit(study: Study, size: str) -> Ampacity | None:
    """What a conductor may carry, and who says so; None for the name of a wire that does not exist."""
    wire = study.layout.wires.get(size)
    if wire is not None and wire.current_a is not None:
        return Ampacity(wire.current_a, f"its entry in [wires.{wire.name}]")
    written = wire.size if wire is not None else size
    return ampacity(written) if written[:1].isdecimal() else None
