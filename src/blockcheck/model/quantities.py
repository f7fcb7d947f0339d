"""Quantities as people write them: ``"9.0 m"`` to metres, and back for printing.

A number is written as in TOML (``9``, ``9.0``, ``1e3``), then a unit; the space between is optional. A length may be
said as a tape measure reads, in units that grow smaller: ``16 ft 6 in``, ``16' 6"``, ``2 m 40 cm``. Everything else is
refused with the text to write instead, for a slip in a unit is the costliest slip in a layout.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any, NewType

from attrs import Factory, field, frozen

from blockcheck.core.nearest import nearest
from blockcheck.core.shown import shown
from blockcheck.model.tape import SPACES, in_one_unit

Volts = NewType("Volts", float)
Amperes = NewType("Amperes", float)
Ohms = NewType("Ohms", float)
OhmsPerMetre = NewType("OhmsPerMetre", float)
OhmMetres = NewType("OhmMetres", float)
"""Resistance across a length, times that length: the leakage of the roadbed."""
Farads = NewType("Farads", float)
FaradsPerMetre = NewType("FaradsPerMetre", float)
Seconds = NewType("Seconds", float)
Metres = NewType("Metres", float)
Fraction = NewType("Fraction", float)
"""``"20 %"`` is 0.2."""
Celsius = NewType("Celsius", float)

_FOOT = 0.3048  # exact, the international foot
_LONGEST = 100  # characters; no quantity is longer, and nothing below need fear long texts


class QuantityError(ValueError):
    """A text that is no quantity of the dimension wanted. ``message``: what was expected; ``help``: what to write."""

    def __init__(self, message: str, help: str) -> None:  # noqa: A002 - the word that people read
        self.message = message
        self.help = help
        super().__init__(message)


def _by_size(units: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(units, key=lambda unit: -units[unit]))


@frozen(eq=False, repr=False)
class Dimension:
    """What a text may say of one dimension.

    ``word`` and ``example`` are for errors (``a length``, ``9.0 m``). ``units`` maps a unit, in its plain spelling
    (``uF``, ``kohm``, ``degC``), to its factor to SI; ``zeros`` holds the number that stands for SI zero where that is
    not 0. ``metric`` and ``imperial`` are the units to print in, the largest first (``metric`` left out: all of them);
    ``compound``: whether several of either make one quantity. In SI are ``least``, ``most`` and ``finest``, the least
    above 0: beyond them lies no layout, and what is computed from it would mean nothing.
    """

    word: str
    example: str
    units: Mapping[str, float]
    metric: tuple[str, ...] = field(default=Factory(lambda self: _by_size(self.units), takes_self=True))
    imperial: tuple[str, ...] = ()
    zeros: Mapping[str, float] = {}
    most: float = field(kw_only=True)
    finest: float = 0.0
    least: float = 0.0
    compound: bool = False

    @property
    def unit(self) -> str:
        """The unit of the example."""
        return self.example.partition(" ")[2]


DIMENSIONS: Mapping[Any, Dimension] = {
    # the most voltage is far above what may be on rails that people touch
    Volts: Dimension("a voltage", "14 V", {"V": 1.0, "mV": 1e-3, "kV": 1e3}, most=1e3, finest=1e-6),
    Amperes: Dimension("a current", "1.2 A", {"A": 1.0, "mA": 1e-3, "uA": 1e-6}, most=1e3, finest=1e-9),
    Ohms: Dimension(
        "a resistance", "10 ohm", {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3, "Mohm": 1e6}, most=1e9, finest=1e-6
    ),
    OhmsPerMetre: Dimension(
        "a resistance per length",
        "0.06 ohm/m",
        {"ohm/m": 1.0, "mohm/m": 1e-3, "ohm/km": 1e-3, "ohm/ft": 1 / _FOOT, "mohm/ft": 1e-3 / _FOOT},
        metric=("ohm/m", "mohm/m"),
        imperial=("ohm/ft", "mohm/ft"),
        most=1e3,
        finest=1e-6,
    ),
    OhmMetres: Dimension(
        "a resistance times length",
        "5 Mohm m",
        {"ohm m": 1.0, "kohm m": 1e3, "Mohm m": 1e6, "Gohm m": 1e9, "kohm ft": 1e3 * _FOOT, "Mohm ft": 1e6 * _FOOT},
        metric=("Gohm m", "Mohm m", "kohm m", "ohm m"),
        imperial=("Mohm ft", "kohm ft"),
        most=1e12,
        finest=1.0,
    ),
    Farads: Dimension(
        "a capacitance",
        "1000 uF",
        {"F": 1.0, "mF": 1e-3, "uF": 1e-6, "nF": 1e-9, "pF": 1e-12},
        metric=("F", "uF", "nF", "pF"),  # the trade says 4700 uF, not 4.7 mF
        most=1e3,
        finest=1e-15,
    ),
    FaradsPerMetre: Dimension(
        "a capacitance per length",
        "50 pF/m",
        {
            "pF/m": 1e-12,
            "nF/m": 1e-9,
            "uF/m": 1e-6,
            "pF/km": 1e-15,
            "nF/km": 1e-12,
            "uF/km": 1e-9,
            "pF/ft": 1e-12 / _FOOT,
            "nF/ft": 1e-9 / _FOOT,
        },
        metric=("uF/m", "nF/m", "pF/m"),
        imperial=("nF/ft", "pF/ft"),
        most=1e-3,
        finest=1e-15,
    ),
    Seconds: Dimension("a time", "30 ms", {"s": 1.0, "ms": 1e-3, "us": 1e-6}, most=1e4, finest=1e-9),
    Metres: Dimension(
        "a length",
        "9.0 m",
        {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "km": 1e3, "ft": _FOOT, "in": _FOOT / 12},
        metric=("km", "m", "cm", "mm"),
        imperial=("ft", "in"),
        most=1e6,
        finest=1e-6,
        compound=True,
    ),
    Fraction: Dimension("a percentage", "20 %", {"%": 1e-2}, most=1.0),
    Celsius: Dimension(
        "a temperature",
        "25 degC",
        {"degC": 1.0, "degF": 5 / 9},
        metric=("degC",),
        imperial=("degF",),
        zeros={"degF": 32.0},
        least=-100.0,  # resistance is linear in temperature over this stretch, and copper's stays well above 0
        most=250.0,
    ),
}
"""Annotation of the model -> its dimension."""

_ELSEWHERE = {
    "mm2": "a conductor size",
    "AWG": "a conductor size",
    "W": "a power",
    "VA": "a power",
    "Hz": "a frequency",
}
_MEANT = {
    "V": "volt, volts",
    "A": "amp, amps, ampere, amperes",
    "mA": "milliamp, milliamps",
    "ohm": "ohms, r",
    "F": "farad, farads",
    "uF": "mfd, mf, microfarad, microfarads",
    "m": "metre, metres, meter, meters, mtr",
    "ft": "foot, feet, ', ′",
    "in": 'inch, inches, ", ″',
    "s": "sec, secs, second, seconds",
    "ms": "msec, millisecond, milliseconds",
    "%": "percent, per cent, pct",
    "degC": "c, deg c, celsius, ℃",
    "degF": "f, deg f, fahrenheit, ℉",
    "mm2": "sqmm, sq mm, qmm, mm^2, mmq",
}
_WORDS = {word: unit for unit, words in _MEANT.items() for word in words.split(", ")}
"""What people say and the language does not, case ignored -> the unit meant."""

_SPELLINGS = str.maketrans({"µ": "u", "μ": "u", "\u03a9": "ohm", "\u2126": "ohm", "°": "deg", "²": "2"})
_NUMBER = r"[+-]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?"
_QUANTITY = re.compile(rf"(?P<number>{_NUMBER})[{SPACES}]*(?P<unit>(?![0-9._,+-]|['’][0-9])\S.*)?")
_MARKS = f".,'’_{SPACES}"
_LOOSE = re.compile(rf"(?P<sign>[+-]?)(?P<digits>[.,]?[0-9](?:[{_MARKS}]?[0-9])*)[.,]?(?P<rest>.*)")
_GROUPED = re.compile(
    rf"(?P<whole>[1-9][0-9]{{0,2}}(?P<mark>[{_MARKS}])[0-9]{{3}}(?:(?P=mark)[0-9]{{3}})*)"
    r"(?:(?!(?P=mark))[.,](?P<part>[0-9]+))?"
)


def parse(text: object, dimension: Dimension, nought: bool = True) -> float:
    """The quantity in SI units (a percentage as a fraction, a temperature in degC); ``nought``: whether 0 is offered.

    ``text`` is whatever stands in the document; raises QuantityError for everything but a quantity of the dimension.
    """
    if not isinstance(text, str):
        raise _error(text, dimension, _help_for_value(text, dimension))
    plain = text.strip(SPACES)
    if dimension.compound and len(plain) <= _LONGEST:
        try:
            plain = in_one_unit(plain, dimension.units, (dimension.metric, dimension.imperial))
        except ValueError as error:
            raise _error(text, dimension, str(error)) from None
    match = _QUANTITY.fullmatch(plain) if len(plain) <= _LONGEST else None
    unit = canonical(match["unit"] or "") if match else ""
    if match is None or unit not in dimension.units:
        help_ = _help_for_unit(match["number"], unit, dimension) if match else _help_for_text(plain, dimension)
        raise _error(text, dimension, help_)
    number = match["number"]
    if unit in dimension.zeros:
        value = (float(number) - dimension.zeros[unit]) * dimension.units[unit]
    else:
        value = _scaled(number, dimension.units[unit])
    refusal = _refusal(number, value, dimension, nought)
    if refusal is not None:
        raise _error(text, dimension, refusal)
    return value + 0.0  # no minus zero


def show(value: float, dimension: Dimension, imperial: bool = False, digits: int = 3) -> str:
    """A quantity for people, in a unit that suits its size: ``90 mA``, ``9 m``, ``30 ft``.

    ``value`` is in SI units and may be negative (a difference); ``digits`` are significant. What is printed can be
    parsed again, where it is not beyond what is read. Raises ValueError for what is not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be shown as {dimension.word}")
    units = (dimension.imperial if imperial else ()) or dimension.metric
    unit = dimension.unit if dimension.unit in units else units[0]
    if dimension.zeros:
        number = round(value / dimension.units[unit] + dimension.zeros.get(unit, 0.0), 9)
        return f"{_digits(float(f'{number:.{digits}g}'))} {unit}"
    number = 0.0
    for unit in units if value else ():
        number = float(f"{value / dimension.units[unit]:.{digits}g}")
        if abs(number) >= 1:
            break
    return f"{_digits(number)} {unit}"


def canonical(unit: str) -> str:
    """A unit in its plain spelling: ``µF`` as ``uF``, ``kΩ`` as ``kohm``, ``Ω·m`` as ``ohm m``, ``mm²`` as ``mm2``."""
    plain = re.sub(rf"[{SPACES}]+", " ", unit).translate(_SPELLINGS).replace("Ohm", "ohm")
    return re.sub(" ?([/^]) ?", r"\1", re.sub(" ?[·⋅] ?", " ", plain))


def _error(text: object, dimension: Dimension, help_: str) -> QuantityError:
    return QuantityError(f'expected {dimension.word} such as "{dimension.example}", got {shown(text)}', help_)


def _scaled(number: str, factor: float) -> float:
    """``number`` times ``factor``; correctly rounded for decimal prefixes, so that 1.1 mA equals 1100 uA."""
    mantissa, _, exponent = number.lower().partition("e")
    power = f"{factor:.0e}"
    if power.startswith("1e") and float(power) == factor:
        return float(f"{mantissa}e{int(exponent or 0) + int(power[2:])}")
    return float(number) * factor


def _refusal(number: str, value: float, dimension: Dimension, nought: bool) -> str | None:
    """Why a value that can be read is no good, or None."""
    if number.startswith("-") and dimension.least >= 0:
        return f"{dimension.word} cannot be negative"
    most = show(dimension.most, dimension)
    if not dimension.finest and not dimension.least <= value <= dimension.most:
        return f"{dimension.word} here is from {show(dimension.least, dimension)} to {most}"
    if not value <= dimension.most:
        return f"{number} is too large to be {dimension.word}; the most here is {most}"
    meant_nought = not re.search("[1-9]", number.lower().partition("e")[0])
    if abs(value) < dimension.finest and not meant_nought:
        finest = show(dimension.finest, dimension)
        return f"{number} is too small to be {dimension.word}; the least here is {finest}" + (
            ", or 0" if nought else ""
        )
    return None


def _digits(number: float) -> str:
    if number == int(number) and abs(number) < 1e15:
        return str(int(number))
    return repr(number)


def _general(dimension: Dimension) -> str:
    return f'write {dimension.word} such as "{dimension.example}"'


def _help_for_value(value: object, dimension: Dimension) -> str:
    """What to write for something that is no text."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 10**20:
        return _general(dimension)
    return _help_for_number(repr(value), dimension)


def _help_for_number(number: str, dimension: Dimension) -> str:
    """What to write for a bare number: the same with a unit."""
    if dimension is DIMENSIONS[Fraction] and float(number) == 1:
        return _offer(["1 %", "100 %"], dimension)
    if dimension is DIMENSIONS[Fraction] and 0 < float(number) < 1:
        number = f"{100 * float(number):.6g}"
    if dimension is DIMENSIONS[Metres]:  # a tape measure reads feet as likely as metres
        return _offer([f"{number} m", f"{number} ft"], dimension)
    return _offer([f"{number} {dimension.unit}"], dimension)


def _help_for_text(text: str, dimension: Dimension) -> str:
    """What to write for a text that does not begin with a plain number."""
    if len(text) > _LONGEST:
        return _general(dimension)
    if canonical(text) in dimension.units:
        return f'write a number before the unit, such as "{dimension.example}"'
    offers = []
    for number, rest in _loose_numbers(text):
        if not rest:
            return _help_for_number(number, dimension)
        offers.append(f"{number} {rest}")
    return _offer(offers, dimension)


def _help_for_unit(number: str, unit: str, dimension: Dimension) -> str:
    """What to write for a number whose unit is none of the dimension's."""
    if not unit:
        return _help_for_number(number, dimension)
    known = dimension.units
    guesses = [_WORDS.get(unit.casefold(), ""), unit.removesuffix("s"), *_same_but_for_case(unit, known)]
    meant = [one for one in dict.fromkeys(guesses) if one in known]
    if meant:
        return _offer([f"{number} {one}" for one in meant], dimension)
    for other in DIMENSIONS.values():
        if unit in other.units:
            return f'"{unit}" is {other.word}; {_general(dimension)}'
    if unit in _ELSEWHERE:
        return f'"{unit}" is {_ELSEWHERE[unit]}; {_general(dimension)}'
    base = next((one for one, factor in known.items() if factor == 1.0), "")
    if len(unit) == 1 and unit + base in known:
        return _offer([f"{number} {unit}{base}"], dimension)
    if re.search("[0-9]", unit):
        return f'write one number and one unit, such as "{dimension.example}"'
    near = nearest(unit, known) if len(unit) > 2 else None  # a letter or two are near to anything
    if near is not None:
        choices = " or ".join(f'"{number} {one}"' for one in _same_but_for_case(near, known))
        return f"did you mean {choices}?"
    *most, last = known
    return f"write {dimension.word} in {', '.join(most)} or {last}" if most else _general(dimension)


def _same_but_for_case(unit: str, known: Mapping[str, float]) -> list[str]:
    return [one for one in known if one.casefold() == unit.casefold()]


def _offer(texts: list[str], dimension: Dimension) -> str:
    """Words that offer those of ``texts`` that are quantities; where none is, what is wrong with the first."""
    good, helps = [], []
    for text in texts:
        if _QUANTITY.fullmatch(text) is None:  # what is offered must not need another repair
            continue
        try:
            parse(text, dimension)
            good.append(f'"{text}"')
        except QuantityError as error:
            helps.append(error.help)
    if good:
        return f"write {' or '.join(good)}" + (", whichever is meant" if len(good) > 1 else "")
    return helps[0] if helps else _general(dimension)


def _loose_numbers(text: str) -> Iterator[tuple[str, str]]:
    """What may have been meant by a number that is not written plainly, each with the text behind it."""
    match = _LOOSE.fullmatch("".join(str(int(sign)) if sign.isdecimal() else sign for sign in text).replace("−", "-"))
    if match is None:
        return
    digits = match["digits"]
    readings = [digits.replace(",", ".")] if re.fullmatch("[0-9]*[.,]?[0-9]+", digits) else []
    grouped = _GROUPED.fullmatch(digits)
    if grouped is not None:
        readings.append(
            grouped["whole"].replace(grouped["mark"], "") + (f".{grouped['part']}" if grouped["part"] else "")
        )
    for reading in readings:
        whole, point, part = reading.partition(".")
        yield match["sign"] + (whole.lstrip("0") or "0") + point + part, match["rest"].strip(SPACES)
