"""Quantities: what is read, what is refused and with which words, and what is printed."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from blockcheck.model import quantities
from blockcheck.model.quantities import (
    DIMENSIONS,
    Amperes,
    Celsius,
    Dimension,
    Farads,
    FaradsPerMetre,
    Fraction,
    Metres,
    OhmMetres,
    Ohms,
    OhmsPerMetre,
    QuantityError,
    Seconds,
    Volts,
    parse,
    show,
)
from blockcheck.model.standards import RAILS, SCALES, Ampacity, ampacity, gauge_area, parse_size

GOOD = [
    (Metres, "9.0 m", 9.0),
    (Metres, "9m", 9.0),
    (Metres, " 9 m ", 9.0),
    (Metres, "9\u00a0m", 9.0),
    (Metres, "+9 m", 9.0),
    (Metres, "0 m", 0.0),
    (Metres, "1e3 mm", 1.0),
    (Metres, "30 cm", 0.3),
    (Metres, "0.2 km", 200.0),
    (Metres, "30 ft", 9.144),
    (Metres, "12 in", 0.3048),
    (Metres, "16 ft 6 in", 5.0292),
    (Metres, "16ft6in", 5.0292),
    (Metres, "16' 6\"", 5.0292),
    (Metres, "16'-6\"", 5.0292),
    (Metres, "16′6″", 5.0292),
    (Metres, "16’ 6.5”", 5.0419),
    (Metres, "16' 6''", 5.0292),
    (Metres, "16'", 4.8768),
    (Metres, '6"', 0.1524),
    (Metres, "0 ft 6 in", 0.1524),
    (Metres, "2 m 40 cm", 2.4),
    (Metres, "2 m 5 mm", 2.005),
    (Metres, "1 km 2 m 3 cm 4.5 mm", 1002.0345),
    (Volts, "14.2 V", 14.2),
    (Volts, "700 mV", 0.7),
    (Volts, "1 kV", 1000.0),
    (Amperes, "1.2 mA", 0.0012),
    (Amperes, "50 µA", 5e-5),  # micro sign
    (Amperes, "50 μA", 5e-5),  # Greek mu
    (Amperes, "50 uA", 5e-5),
    (Ohms, "10 kohm", 1e4),
    (Ohms, "10 k\u03a9", 1e4),  # Greek omega
    (Ohms, "10 k\u2126", 1e4),  # ohm sign
    (Ohms, "5 mohm", 0.005),
    (Ohms, "5 Mohm", 5e6),
    (Ohms, "5 MΩ", 5e6),
    (Ohms, "5 Ohm", 5.0),
    (OhmsPerMetre, "0.06 ohm/m", 0.06),
    (OhmsPerMetre, "76 mΩ/m", 0.076),
    (OhmsPerMetre, "13.3 ohm/km", 0.0133),
    (OhmsPerMetre, "13.3 Ω / km", 0.0133),
    (OhmsPerMetre, "0.3048 ohm/ft", 1.0),
    (OhmMetres, "5 Mohm m", 5e6),
    (OhmMetres, "5 MΩ·m", 5e6),
    (OhmMetres, "2 Gohm m", 2e9),
    (OhmMetres, "10 Mohm ft", 3.048e6),
    (Farads, "1000 uF", 0.001),
    (Farads, "1000 µF", 0.001),
    (Farads, "4.7 mF", 0.0047),
    (Farads, "220 pF", 2.2e-10),
    (FaradsPerMetre, "50 pF/m", 5e-11),
    (FaradsPerMetre, "120 nF/km", 1.2e-10),
    (FaradsPerMetre, "30.48 pF/ft", 1e-10),
    (Seconds, "30 ms", 0.03),
    (Seconds, "58 us", 5.8e-5),
    (Fraction, "20 %", 0.2),
    (Fraction, "20%", 0.2),
    (Fraction, "100 %", 1.0),
    (Celsius, "25 degC", 25.0),
    (Celsius, "25 °C", 25.0),
    (Celsius, "-5 °C", -5.0),
    (Celsius, "77 degF", 25.0),
    (Celsius, "-40 °F", -40.0),
]


@pytest.mark.parametrize(("kind", "text", "value"), GOOD)
def test_reads(kind: Any, text: str, value: float) -> None:
    assert parse(text, DIMENSIONS[kind]) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(("one", "other"), [("1.1 mA", "1100 uA"), ("0.3 A", "300 mA"), ("4.35 mA", "4350 µA")])
def test_prefixes_are_exact(one: str, other: str) -> None:
    assert parse(one, DIMENSIONS[Amperes]) == parse(other, DIMENSIONS[Amperes])


LARGEST_FIRST = 'give feet and inches, or metres and their parts, as "16 ft 6 in" or "2 m 40 cm"'
GENERAL = 'write a length such as "9.0 m"'
BAD_LENGTHS: list[tuple[object, str, str]] = [
    # bare numbers
    (9, "9", 'write "9 m" or "9 ft", whichever is meant'),
    (9.0, "9.0", 'write "9.0 m" or "9.0 ft", whichever is meant'),
    (-9, "-9", "a length cannot be negative"),
    (math.nan, "nan", GENERAL),
    (math.inf, "inf", GENERAL),
    (10**5000, "a very large number", GENERAL),
    ("9.0", '"9.0"', 'write "9.0 m" or "9.0 ft", whichever is meant'),
    ("9,2", '"9,2"', 'write "9.2 m" or "9.2 ft", whichever is meant'),
    # no numbers
    (True, "true", GENERAL),
    ([], "a list", GENERAL),
    ({}, "a table", GENERAL),
    (date(2031, 5, 1), "a date", GENERAL),
    ("", "an empty text", GENERAL),
    (" \t", "an empty text", GENERAL),
    ("long", '"long"', GENERAL),
    ("m", '"m"', 'write a number before the unit, such as "9.0 m"'),
    # signs and sizes
    ("-9 m", '"-9 m"', "a length cannot be negative"),
    ("−9 m", '"−9 m"', "a length cannot be negative"),
    ("-0 m", '"-0 m"', "a length cannot be negative"),
    ("nan m", '"nan m"', GENERAL),
    ("inf m", '"inf m"', GENERAL),
    ("1e400 m", '"1e400 m"', "1e400 is too large to be a length; the most here is 1000 km"),
    ("1e308 km", '"1e308 km"', "1e308 is too large to be a length; the most here is 1000 km"),
    ("1e-400 m", '"1e-400 m"', "1e-400 is too small to be a length; the least here is 0.001 mm, or 0"),
    ("1e17 m", '"1e17 m"', "1e17 is too large to be a length; the most here is 1000 km"),
    ("9" * 101, '"' + "9" * 57 + '..."', GENERAL),
    # ways to write a number
    ("9,2 m", '"9,2 m"', 'write "9.2 m"'),
    ("1,000 m", '"1,000 m"', 'write "1.000 m" or "1000 m", whichever is meant'),
    ("0,500 m", '"0,500 m"', 'write "0.500 m"'),
    ("1.000,5 m", '"1.000,5 m"', 'write "1000.5 m"'),
    ("1,234,567.5 mm", '"1,234,567.5 mm"', 'write "1234567.5 mm"'),
    ("1 000 m", '"1 000 m"', 'write "1000 m"'),
    ("1'000 m", '"1\'000 m"', 'write "1000 m"'),
    ("1_000 m", '"1_000 m"', 'write "1000 m"'),
    ("1_00 m", '"1_00 m"', GENERAL),
    ("1,2,3 m", '"1,2,3 m"', GENERAL),
    ("1 2 m", '"1 2 m"', GENERAL),
    (".5 m", '".5 m"', 'write "0.5 m"'),
    ("5. m", '"5. m"', 'write "5 m"'),
    ("09 m", '"09 m"', 'write "9 m"'),
    ("٩ m", '"٩ m"', 'write "9 m"'),
    ("９．５ m", '"９．５ m"', 'write one number and one unit, such as "9.0 m"'),
    ("0x10 m", '"0x10 m"', 'write one number and one unit, such as "9.0 m"'),
    ("6 in 16 ft", '"6 in 16 ft"', LARGEST_FIRST),
    ("16 ft 6 cm", '"16 ft 6 cm"', LARGEST_FIRST),
    ("16 ft 6 ft", '"16 ft 6 ft"', LARGEST_FIRST),
    ("16 ft 12 in", '"16 ft 12 in"', "12 in is 1 ft or more: say so in ft, or all in in"),
    ("2 m 100 cm", '"2 m 100 cm"', "100 cm is 1 m or more: say so in m, or all in cm"),
    ("16.5 ft 6 in", '"16.5 ft 6 in"', 'only the last number may have a fraction, as in "16 ft 6.5 in", not 16.5'),
    ("16 ft -6 in", '"16 ft -6 in"', 'write one number and one unit, such as "9.0 m"'),
    ("-16 ft 6 in", '"-16 ft 6 in"', 'write one number and one unit, such as "9.0 m"'),
    ("16 ft 6 V", '"16 ft 6 V"', 'write one number and one unit, such as "9.0 m"'),
    ("1000 km 1 m", '"1000 km 1 m"', "1000001 is too large to be a length; the most here is 1000 km"),
    ("3/4 in", '"3/4 in"', 'write one number and one unit, such as "9.0 m"'),
    ("~9 m", '"~9 m"', GENERAL),
    ("9\n m", '"9\\u000a m"', GENERAL),
    ("9 m\x1b[0m", '"9 m\\u001b[0m"', 'write one number and one unit, such as "9.0 m"'),
    # units
    ("9.2 m m", '"9.2 m m"', 'did you mean "9.2 mm"?'),
    ("9 M", '"9 M"', 'write "9 m"'),
    ("9 MM", '"9 MM"', 'write "9 mm"'),
    ("9 feet", '"9 feet"', 'write "9 ft"'),
    ("9 metres", '"9 metres"', 'write "9 m"'),
    ("9,5 feet", '"9,5 feet"', 'write "9.5 ft"'),
    ("9 V", '"9 V"', f'"V" is a voltage; {GENERAL}'),
    ("9 ohm m", '"9 ohm m"', f'"ohm m" is a resistance times length; {GENERAL}'),
    ("9 mm²", '"9 mm²"', f'"mm2" is a conductor size; {GENERAL}'),
    ("16 AWG", '"16 AWG"', f'"AWG" is a conductor size; {GENERAL}'),
    ("9 q", '"9 q"', "write a length in m, cm, mm, km, ft or in"),
]


@pytest.mark.parametrize(("value", "got", "help_"), BAD_LENGTHS, ids=range(len(BAD_LENGTHS)))
def test_refuses_lengths(value: object, got: str, help_: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(value, DIMENSIONS[Metres])
    assert caught.value.message == f'expected a length such as "9.0 m", got {got}'
    assert caught.value.help == help_


BAD = [
    (Ohms, "10 k", 'write "10 kohm"'),
    (Ohms, "10 R", 'write "10 ohm"'),
    (Ohms, "5 kohms", 'write "5 kohm"'),
    (Ohms, "5 MOHM", 'write "5 mohm" or "5 Mohm", whichever is meant'),
    (Ohms, "5 oohm", 'did you mean "5 ohm"?'),
    (Ohms, "5 MoHn", 'did you mean "5 mohm" or "5 Mohm"?'),
    (Ohms, "5 ohm/m", '"ohm/m" is a resistance per length; write a resistance such as "10 ohm"'),
    (Ohms, "5 m", '"m" is a length; write a resistance such as "10 ohm"'),
    (OhmMetres, "5 Mohm", '"Mohm" is a resistance; write a resistance times length such as "5 Mohm m"'),
    (OhmMetres, "5 ohm·", 'did you mean "5 ohm m"?'),
    (Farads, "100 µ", 'write "100 uF"'),
    (Farads, "100 MF", 'write "100 uF" or "100 mF", whichever is meant'),
    (Amperes, "90 MA", 'write "90 mA"'),
    (Amperes, "90 milliamps", 'write "90 mA"'),
    (Amperes, "3 kA", "write a current in A, mA or uA"),
    (Fraction, 0.2, 'write "20 %"'),
    (Fraction, "0.2", 'write "20 %"'),
    (Fraction, 0.07, 'write "7 %"'),
    (Fraction, 20, 'write "20 %"'),
    (Fraction, 1, 'write "1 %" or "100 %", whichever is meant'),
    (Fraction, "20 percent", 'write "20 %"'),
    (Fraction, "120 %", "a percentage here is from 0 % to 100 %"),
    (Fraction, "-5 %", "a percentage cannot be negative"),
    (Celsius, 25, 'write "25 degC"'),
    (Celsius, -5, 'write "-5 degC"'),
    (Celsius, "25 C", 'write "25 degC"'),
    (Celsius, "77 F", 'write "77 degF"'),
    (Celsius, "25 K", "write a temperature in degC or degF"),
    (Celsius, "−5 °C", 'write "-5 °C"'),
    (Celsius, "-300 degC", "a temperature here is from -100 degC to 250 degC"),
]


@pytest.mark.parametrize(("kind", "value", "help_"), BAD, ids=range(len(BAD)))
def test_says_what_to_write(kind: Any, value: object, help_: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(value, DIMENSIONS[kind])
    assert caught.value.help == help_
    dimension = DIMENSIONS[kind]
    assert caught.value.message.startswith(f'expected {dimension.word} such as "{dimension.example}", got ')


SHOWN = [
    (Amperes, 0.09, "90 mA", "90 mA"),
    (Amperes, 0.0015, "1.5 mA", "1.5 mA"),
    (Amperes, 3.2, "3.2 A", "3.2 A"),
    (Amperes, 0.9996, "1 A", "1 A"),
    (Amperes, 0.1 + 0.2, "300 mA", "300 mA"),
    (Amperes, -0.5, "-500 mA", "-500 mA"),
    (Amperes, 0.0, "0 A", "0 A"),
    (Volts, 13.6364, "13.6 V", "13.6 V"),
    (Metres, 9.0, "9 m", "29.5 ft"),
    (Metres, 9.144, "9.14 m", "30 ft"),
    (Metres, 0.15, "15 cm", "5.91 in"),
    (Metres, 0.0, "0 m", "0 ft"),
    (Farads, 0.0047, "4700 uF", "4700 uF"),
    (OhmsPerMetre, 0.0133, "13.3 mohm/m", "4.05 mohm/ft"),
    (OhmMetres, 5e6, "5 Mohm m", "16.4 Mohm ft"),
    (Ohms, 1e4, "10 kohm", "10 kohm"),
    (Fraction, 0.2, "20 %", "20 %"),
    (Celsius, 25.0, "25 degC", "77 degF"),
    (Celsius, -160 / 9, "-17.8 degC", "0 degF"),
]


@pytest.mark.parametrize(("kind", "value", "metric", "imperial"), SHOWN)
def test_shows(kind: Any, value: float, metric: str, imperial: str) -> None:
    assert show(value, DIMENSIONS[kind]) == metric
    assert show(value, DIMENSIONS[kind], imperial=True) == imperial


def test_shows_as_many_digits_as_asked() -> None:
    assert show(13.6364, DIMENSIONS[Volts], digits=5) == "13.636 V"
    assert show(13.6364, DIMENSIONS[Volts], digits=2) == "14 V"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(ValueError, match="cannot be shown as a voltage"):
        show(value, DIMENSIONS[Volts])


PLAIN = [dimension for kind, dimension in DIMENSIONS.items() if kind not in (Celsius, Fraction)]


@given(st.sampled_from(PLAIN), st.floats(1e-15, 1e15), st.booleans(), st.integers(3, 9))
def test_what_is_shown_can_be_read(dimension: Dimension, value: float, imperial: bool, digits: int) -> None:
    value = max(min(value, dimension.most * 0.99), dimension.finest * 1.01)  # three digits round to no more than that
    text = show(value, dimension, imperial, digits)
    assert parse(text, dimension) == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


@given(st.integers(0, 5000), st.integers(0, 95), st.sampled_from(["{} ft {} in", "{}'-{}\"", "{}ft{}in", "{}′ {}″"]))
def test_feet_and_inches_are_read_to_the_eighth(feet: int, eighths: int, form: str) -> None:
    """The foot is 304.8 mm and the inch 25.4 mm by definition (international yard and pound agreement of 1959)."""
    text = form.format(feet, eighths / 8)
    assert parse(text, DIMENSIONS[Metres]) == pytest.approx((feet * 304.8 + eighths / 8 * 25.4) / 1000, rel=1e-12)


@given(st.integers(0, 5000), st.integers(0, 99), st.integers(0, 9))
def test_metres_with_their_parts_are_the_decimal_number(metres: int, centimetres: int, millimetres: int) -> None:
    plain = f"{metres}.{centimetres:02}{millimetres} m"
    assert parse(f"{metres} m {centimetres} cm {millimetres} mm", DIMENSIONS[Metres]) == parse(
        plain, DIMENSIONS[Metres]
    )


@given(st.floats(-99, 249), st.booleans())
def test_temperatures_that_are_shown_can_be_read(value: float, imperial: bool) -> None:
    text = show(value, DIMENSIONS[Celsius], imperial, digits=6)
    assert parse(text, DIMENSIONS[Celsius]) == pytest.approx(value, abs=1e-3)


@pytest.mark.parametrize("dimension", [one for one in PLAIN if one.finest])
def test_what_no_layout_has_is_refused(dimension: Dimension) -> None:
    for bound, beyond, words in (
        (dimension.most, dimension.most * 1.001, "large"),
        (dimension.finest, dimension.finest * 0.999, "small"),
    ):
        factor = dimension.units[dimension.unit]
        assert parse(f"{bound / factor:.9g} {dimension.unit}", dimension) == pytest.approx(bound)
        with pytest.raises(QuantityError, match=f"expected {dimension.word}") as caught:
            parse(f"{beyond / factor:.9g} {dimension.unit}", dimension)
        assert f"is too {words} to be {dimension.word}" in caught.value.help


@given(st.floats(1e-9, 1))
def test_percentages_that_are_shown_can_be_read(value: float) -> None:
    assert parse(show(value, DIMENSIONS[Fraction]), DIMENSIONS[Fraction]) == pytest.approx(value, rel=0.0051)


NEAR_MISSES = st.text(alphabet="0123456789.,'_+-−eExNn ٩²µΩmkMVAFGohftin/%°degCWGaw#·\n\u00a0", max_size=14)


@given(st.sampled_from([*DIMENSIONS.values(), None]), st.one_of(NEAR_MISSES, st.text()))
@example(None, "01 -3 AWG")
@example(DIMENSIONS[Metres], "05 -3 m")
@example(DIMENSIONS[Metres], "5 m" + " " * 2000)
@example(DIMENSIONS[Metres], "1" + "e" + "9" * 90 + " m")
def test_any_text_is_read_or_refused(dimension: Dimension | None, text: str) -> None:
    """None stands for a conductor size. What a refusal offers must be right, and an answer a usable number."""
    refusal: QuantityError | None = None
    value = 0.0
    try:
        value = parse_size(text) if dimension is None else parse(text, dimension)
    except QuantityError as error:
        refusal = error
    assert math.isfinite(value)
    assert value >= 0 or dimension is DIMENSIONS[Celsius]
    if refusal is not None:
        assert (refusal.message + refusal.help).isprintable()
        assert len(refusal.message) < 250
        if refusal.help.startswith('write "'):
            for offered in refusal.help.split('"')[1::2]:
                assert parse_size(offered) if dimension is None else parse(offered, dimension) is not None


@given(
    st.sampled_from(list(DIMENSIONS.values())),
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.lists(st.text()), st.binary(), st.dates()),
)
def test_nothing_but_text_is_read(dimension: Dimension, value: object) -> None:
    with pytest.raises(QuantityError):
        parse(value, dimension)


def test_dimensions_are_sound() -> None:
    units: list[str] = []
    for dimension in DIMENSIONS.values():
        parse(dimension.example, dimension)
        assert {*dimension.metric, *dimension.imperial} <= set(dimension.units)
        for printed in (dimension.metric, dimension.imperial):
            assert list(printed) == sorted(printed, key=lambda unit: -dimension.units[unit])
        assert all(quantities.canonical(unit) == unit for unit in dimension.units)
        units.extend(dimension.units)
    assert len(units) == len(set(units)), "a unit belongs to one dimension"
    assert len(DIMENSIONS) == 11


SIZES = [
    ("1.5 mm2", 1.5),
    ("1.5 mm²", 1.5),
    ("1.5mm2", 1.5),
    ("16 AWG", 1.3087),
    ("16awg", 1.3087),
    ("0 AWG", 53.475),
    ("1/0 AWG", 53.475),
    ("00 AWG", 67.431),
    ("2/0 AWG", 67.431),
    ("0000 AWG", 107.219),
    ("40 AWG", 0.0050),
]


@pytest.mark.parametrize(("text", "area"), SIZES)
def test_reads_sizes(text: str, area: float) -> None:
    assert parse_size(text) == pytest.approx(area, rel=0.005)


GAUGES = 'write a gauge from "4/0 AWG" to "40 AWG", or an area such as "1.5 mm2"'
BAD_SIZES = [
    (1.5, 'write "1.5 mm2"'),
    ("1.5", 'write "1.5 mm2"'),
    (16, 'write "16 AWG" or "16 mm2", whichever is meant'),
    ("16", 'write "16 AWG" or "16 mm2", whichever is meant'),
    ("50", 'write "50 mm2"'),
    ("0", 'write "0 AWG"'),
    ("1/0", 'write "1/0 AWG"'),
    ("AWG 16", 'write "16 AWG"'),
    ("AWG16", 'write "16 AWG"'),
    ("16 ga", 'write "16 AWG"'),
    ("#16", 'write "16 AWG"'),
    ("41 AWG", GAUGES),
    ("5/0 AWG", GAUGES),
    ("00000 AWG", GAUGES),
    ("016 AWG", GAUGES),
    ("-1 AWG", GAUGES),
    ("16.5 AWG", GAUGES),
    ("1,5 mm2", 'write "1.5 mm2"'),
    ("1.5 mm^2", 'write "1.5 mm2"'),
    ("1.5 sqmm", 'write "1.5 mm2"'),
    ("1.5 MM2", 'write "1.5 mm2"'),
    ("-1.5 mm2", "a conductor size cannot be negative"),
    ("0 mm2", "a conductor size here is from 0.001 mm2 to 1000 mm2"),
    ("15000 mm2", "a conductor size here is from 0.001 mm2 to 1000 mm2"),
    ("1.5 mm", '"mm" is a length; write a conductor size such as "1.5 mm2"'),
    (True, 'write a conductor size such as "1.5 mm2"'),
    ("", 'write a conductor size such as "1.5 mm2"'),
]


@pytest.mark.parametrize(("value", "help_"), BAD_SIZES, ids=range(len(BAD_SIZES)))
def test_refuses_sizes(value: object, help_: str) -> None:
    with pytest.raises(QuantityError, match="expected a conductor size such as") as caught:
        parse_size(value)
    assert caught.value.help == help_


IEC = "IEC 60204-1 Table 6, method B2, 40 degC, PVC"
AMPACITIES = [
    ("1.5 mm2", Ampacity(13.1, IEC)),
    ("1 mm2", Ampacity(10.1, IEC)),
    ("0.8 mm2", Ampacity(8.5, f"{IEC}: its 0.75 mm2", bound=True)),
    ("25 mm2", Ampacity(54.0, f"{IEC}: its 16 mm2", bound=True)),
    ("18 AWG", Ampacity(8.5, f"{IEC}: its 0.75 mm2", bound=True)),
    ("14 AWG", Ampacity(13.1, f"{IEC}: its 1.5 mm2", bound=True)),
    ("2/0 AWG", Ampacity(54.0, f"{IEC}: its 16 mm2", bound=True)),
    ("0.3 mm2", Ampacity(8.5 * 0.3 / 0.75, f"{IEC}: in proportion to its 0.75 mm2, the thinnest", bound=True)),
]


@pytest.mark.parametrize(("size", "expected"), AMPACITIES)
def test_ampacity(size: str, expected: Ampacity) -> None:
    assert ampacity(size) == expected


@given(gauge=st.integers(1, 40))
def test_the_same_copper_carries_the_same_by_either_name(gauge: int) -> None:
    american, metric = ampacity(f"{gauge} AWG"), ampacity(f"{gauge_area(gauge)!r} mm2")
    assert metric.amperes == pytest.approx(american.amperes, rel=1e-12)
    assert (metric.source, metric.bound) == (american.source, american.bound)


@given(areas=st.lists(st.floats(0.01, 200.0), min_size=2, max_size=2))
def test_thicker_wire_never_carries_less(areas: list[float]) -> None:
    thin, thick = (ampacity(f"{area:.9f} mm2").amperes for area in sorted(areas))
    assert thin <= thick


def test_every_stock_number_has_a_source() -> None:
    assert all(one.source for one in [*RAILS.values(), *SCALES.values()])


IMPORT = """
import sys, types
package = types.ModuleType("blockcheck")  # without the package's own imports, which are another matter
package.__path__ = sys.argv[1:]
sys.modules["blockcheck"] = package
import blockcheck.model.standards
print(*sys.modules)
"""


def test_importing_is_cheap() -> None:
    """Every command reads quantities, and some need little else: nothing slow may come with them."""
    rooms = str(Path(quantities.__file__).parents[1])
    command = [sys.executable, "-c", IMPORT, rooms]
    loaded = set(subprocess.run(command, capture_output=True, text=True, check=True).stdout.split())
    assert "blockcheck.model.quantities" in loaded
    assert not {"jsonschema", "typer", "rich", "cattrs", "decimal", "difflib", "fractions"} & loaded
