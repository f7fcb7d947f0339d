"""Wires, rails and scales as the standards and published tables have them, each with its source."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import NamedTuple

from blockcheck.core.shown import shown
from blockcheck.model.quantities import Dimension, QuantityError, parse
from blockcheck.model.tape import SPACES

COPPER_OHM_MM2_PER_M = 1 / 58
"""Resistivity of annealed copper at 20 degC (IEC 60028)."""
COPPER_PER_KELVIN = 0.00393
"""Temperature coefficient of its resistance, from 20 degC (IEC 60028)."""
NICKEL_SILVER_PER_KELVIN = 0.0003
"""That of nickel silver, of which rail is made; from memory."""


class Sourced(NamedTuple):
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


_AMPACITY_TABLE = "IEC 60204-1 Table 6, method B2, 40 degC, PVC"
AMPACITY: Mapping[float, float] = {
    0.75: 8.5,
    1.0: 10.1,
    1.5: 13.1,
    2.5: 17.4,
    4.0: 23.0,
    6.0: 30.0,
    10.0: 40.0,
    16.0: 54.0,
}
"""Area in mm2 -> most current in A of a copper conductor among others in a cable or a duct, thinnest first.

For machines' wiring; other tables allow other currents for other ways of laying: NEC 402.5 has 6 A for 18 AWG
(0.82 mm2) as fixture wire and Table 400.5(A) 10 A for the same in a cord.
"""


E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
"""The preferred values of resistors, twelve a decade (IEC 60063; from memory)."""


class Ampacity(NamedTuple):
    """The most current in A that a conductor may carry, and who says so; ``bound``: it may be more."""

    amperes: float
    source: str
    bound: bool = False


def ampacity(size: str) -> Ampacity:
    """The most current that a conductor of a size, in mm2 or AWG, may carry: by its area alone.

    These are thermal limits of insulated wire; on a layout the voltage drop and the trip current usually bind first.
    An area between two of the table is given the current of the thinner one, a bound. What is thinner than the table
    is given its first current in proportion to the area, a bound too (common practice, no source): the heat of such a
    current falls as the area does, and the surface that gives it off only as the root of that.
    Raises QuantityError where ``size`` is none.
    """
    area = parse_size(size)
    listed = max((one for one in AMPACITY if one <= area), default=None)
    if listed is None:
        thinnest = min(AMPACITY)
        source = f"{_AMPACITY_TABLE}: in proportion to its {thinnest:g} mm2, the thinnest"
        return Ampacity(AMPACITY[thinnest] * area / thinnest, source, bound=True)
    exact = listed == area
    return Ampacity(AMPACITY[listed], _AMPACITY_TABLE if exact else f"{_AMPACITY_TABLE}: its {listed:g} mm2", not exact)
