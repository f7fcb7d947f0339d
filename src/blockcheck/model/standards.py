"""Wires, rails and scales as the standards and published tables have them, each with its source."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from attrs import frozen

from blockcheck.core.shown import shown
from blockcheck.model.quantities import SPACES, Dimension, QuantityError, parse

COPPER_OHM_MM2_PER_M = 1 / 58
"""Resistivity of annealed copper at 20 degC (IEC 60028)."""
COPPER_PER_KELVIN = 0.00393
"""Temperature coefficient of its resistance, from 20 degC (IEC 60028)."""
NICKEL_SILVER_PER_KELVIN = 0.0003
"""That of nickel silver, of which rail is made; from memory."""


@frozen
class Sourced:
    """A number of a standard or a published table, and where it is from."""

    value: float
    source: str


_NICKEL_SILVER = "nickel silver, measured with a bridge at 60 Hz and 1 A (a community reference page on rail size)"
RAILS: Mapping[str, Sourced] = {
    "code100": Sourced(0.076, _NICKEL_SILVER),
    "code83": Sourced(0.108, _NICKEL_SILVER),
    "code70": Sourced(0.206, _NICKEL_SILVER),
}
"""Kind of rail -> ohm per metre of one rail. Makers and alloys differ; a measured value is better."""

_HO = "NMRA S-1.2: 3.5 mm to the foot (NEM 010 rounds to 1:87)"
SCALES: Mapping[str, Sourced] = {
    "Z": Sourced(220.0, "NEM 010"),
    "N": Sourced(160.0, "NEM 010, NMRA S-1.2"),
    "TT": Sourced(120.0, "NEM 010"),
    "HO": Sourced(304.8 / 3.5, _HO),
    "H0": Sourced(304.8 / 3.5, _HO),
    "OO": Sourced(304.8 / 4, "NMRA S-1.2: 4 mm to the foot"),
    "S": Sourced(64.0, "NEM 010"),
    "O": Sourced(48.0, "NMRA S-1.2: a quarter of an inch to the foot"),
    "0": Sourced(45.0, "NEM 010"),
    "I": Sourced(32.0, "NEM 010"),
    "II": Sourced(22.5, "NEM 010"),
}
"""Name of a scale -> how many times smaller than the prototype. The letter O is NMRA's scale, the figure 0 NEM's."""


_AREA = Dimension(
    "a conductor size",
    "1.5 mm2",
    {"mm2": 1.0},
    metric=("mm2",),
    least=0.001,  # below 40 AWG and above any layout's wire: beyond is a slip of the decimal point
    most=1000.0,
)
_AWG = re.compile(rf"(?P<gauge>[0-9]+)(?P<aught>/0)?[{SPACES}]*AWG", re.IGNORECASE)
_NEARLY = re.compile(
    rf"(?:(?:AWG|gauge|ga|#)[{SPACES}]*)?(?P<gauge>[1-4]/0|[0-9]{{1,2}})(?:[{SPACES}]*(?:gauge|ga))?", re.IGNORECASE
)


def parse_size(text: object) -> float:
    """The area in mm2 of a conductor size: ``1.5 mm2``, ``1.5 mm²``, ``16 AWG``, ``2/0 AWG`` or ``00 AWG``.

    Raises QuantityError. A gauge's area is that of the solid wire, by the formula of ASTM B258.
    """
    gauge = _gauge(text)
    return parse(text, _AREA) if gauge is None else gauge_area(gauge)


def gauge_area(gauge: int) -> float:
    """Area in mm2 of a wire of American gauge ``gauge``, 0 for 1/0, -1 for 2/0 and so on (ASTM B258)."""
    return math.pi / 4 * gauge_diameter(gauge) ** 2


def gauge_diameter(gauge: int) -> float:
    """Diameter in mm (ASTM B258: No. 36 is 0.0050 in, No. 0000 is 0.4600 in, 39 equal ratios lie between)."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def copper_resistance(area_mm2: float, temperature_c: float = 20.0) -> float:
    """Resistance in ohm per metre of a copper conductor of ``area_mm2`` (above 0) at ``temperature_c``."""
    return COPPER_OHM_MM2_PER_M / area_mm2 * warmed(COPPER_PER_KELVIN, temperature_c)


def warmed(per_kelvin: float, temperature_c: float) -> float:
    """What a resistance at 20 degC is multiplied by at ``temperature_c``; it is linear there."""
    return 1 + per_kelvin * (temperature_c - 20.0)


def _gauge(text: object) -> int | None:
    """The gauge that a text names, or None where it speaks of none. Raises QuantityError for one that is no good."""
    if not isinstance(text, str | int) or isinstance(text, bool):
        return None
    plain = text.strip(SPACES) if isinstance(text, str) else shown(text)
    match = _AWG.fullmatch(plain)
    gauge = _number(match["gauge"], match["aught"]) if match else None
    if gauge is not None:
        return gauge
    nearly = _NEARLY.fullmatch(plain)
    if nearly and _number(*nearly["gauge"].partition("/0")[:2]) is not None:
        help_ = f'write "{nearly["gauge"]} AWG"'
        if plain == nearly["gauge"] and plain.isdecimal() and not plain.startswith("0"):
            help_ += f' or "{plain} mm2", whichever is meant'
    elif "awg" in plain.casefold():
        help_ = 'write a gauge from "4/0 AWG" to "40 AWG", or an area such as "1.5 mm2"'
    else:
        return None
    raise QuantityError(f'expected a conductor size such as "1.5 mm2" or "16 AWG", got {shown(text)}', help_)


def _number(digits: str, aught: str | None) -> int | None:
    """``16``, ``0`` to ``0000``, or the digit of ``1/0`` to ``4/0``, as the number of the formula."""
    if aught:
        return 1 - int(digits) if digits in ("1", "2", "3", "4") else None
    if digits in ("0", "00", "000", "0000"):
        return 1 - len(digits)
    return int(digits) if len(digits) <= 2 and not digits.startswith("0") and int(digits) <= 40 else None


@frozen
class _Listed:
    size: float
    """mm2, or a gauge."""
    amperes: float
    table: str


_SMALL = "VDE 0100, small wire, group 1 (superseded)"
_MACHINES = "IEC 60204-1 Table 6, method B2, 40 degC, PVC"
_FIXTURE = "NEC Table 402.5"
_BUILDING = "NEC Table 310.16, 60 degC, with 240.4(D)"
AMPACITY_MM2: tuple[_Listed, ...] = (
    *(_Listed(size, amperes, _SMALL) for size, amperes in ((0.14, 2.0), (0.25, 4.0), (0.34, 6.0), (0.5, 9.0))),
    *(_Listed(size, amperes, _MACHINES) for size, amperes in ((0.75, 8.5), (1.0, 10.1), (1.5, 13.1), (2.5, 17.4))),
    *(_Listed(size, amperes, _MACHINES) for size, amperes in ((4.0, 23.0), (6.0, 30.0), (10.0, 40.0), (16.0, 54.0))),
)
"""Thinnest first."""
AMPACITY_AWG: tuple[_Listed, ...] = (
    *(_Listed(size, amperes, _FIXTURE) for size, amperes in ((18, 6.0), (16, 8.0))),
    *(
        _Listed(size, amperes, _BUILDING)
        for size, amperes in ((14, 15.0), (12, 20.0), (10, 30.0), (8, 40.0), (6, 55.0))
    ),
)
"""Thinnest first."""


def ampacity(size: str) -> tuple[float, str] | None:
    """The most current in A that a conductor of a size may carry, and the table that says so.

    These are thermal limits of insulated building wire; on a layout the voltage drop and the trip current usually
    bind first. A size between two of the table is given the value of the thinner one, and the text says so; None for
    what is thinner than the table. No size is given more than a thicker one: 0.5 mm2 gets the 8.5 A of
    0.75 mm2, where the superseded table has 9 A.
    Raises QuantityError where ``size`` is none.
    """
    gauge = _gauge(size)
    if gauge is None:
        wanted, unit, rows = parse_size(size), "mm2", AMPACITY_MM2
        count = sum(row.size <= wanted for row in rows)
    else:
        wanted, unit, rows = gauge, "AWG", AMPACITY_AWG
        count = sum(row.size >= wanted for row in rows)
    if count == 0:
        return None
    row = min(rows[count - 1 :], key=lambda one: one.amperes)
    return row.amperes, row.table if row.size == wanted else f"{row.table}: its {row.size:g} {unit}"
