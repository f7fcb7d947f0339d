"""Copper conductors against published tables. Each check names the table that its numbers are from."""

from __future__ import annotations

import pytest

from blockcheck.model.standards import (
    COPPER_OHM_MM2_PER_M,
    COPPER_PER_KELVIN,
    RAILS,
    ampacity,
    copper_resistance,
    gauge_area,
    gauge_diameter,
    parse_size,
)

INCH = 25.4
KILOFOOT = 304.8


def test_gauges_end_where_the_standard_says() -> None:
    """ASTM B258: No. 36 is 0.0050 in, No. 0000 is 0.4600 in, and the step ratio is 92^(1/39) = 1.1229322."""
    assert gauge_diameter(36) / INCH == pytest.approx(0.0050, rel=1e-12)
    assert gauge_diameter(-3) / INCH == pytest.approx(0.4600, rel=1e-12)
    assert gauge_diameter(20) / gauge_diameter(21) == pytest.approx(1.1229322, rel=1e-7)


B258_INCHES = dict(
    zip(
        (8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30),
        (0.1285, 0.1019, 0.0808, 0.0641, 0.0508, 0.0403, 0.0320, 0.0253, 0.0201, 0.0159, 0.0126, 0.0100),
        strict=True,
    )
)


@pytest.mark.parametrize(("gauge", "inches"), B258_INCHES.items())
def test_diameters_round_to_the_nominal_ones(gauge: int, inches: float) -> None:
    """ASTM B258 nominal diameters, rounded to 0.0001 in (as the table of fluids 1.3.1, a general library, has them).

    22 AWG is 0.02535 in by the formula, on the edge, and 0.0253 in the table.
    """
    assert gauge_diameter(gauge) / INCH == pytest.approx(inches, abs=0.000051)


ODD_INCHES = dict(
    zip(
        (9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29),
        (0.1144, 0.09074, 0.07196, 0.05707, 0.04526, 0.03589, 0.02846, 0.02257, 0.01790, 0.01420, 0.01126),
        strict=True,
    )
)


@pytest.mark.parametrize(("gauge", "inches"), ODD_INCHES.items())
def test_odd_gauges(gauge: int, inches: float) -> None:
    """Wire table of "Lessons in Electric Circuits", DC, chapter 12: four figures."""
    assert gauge_diameter(gauge) / INCH == pytest.approx(inches, rel=0.0005)


OHM_PER_KILOFOOT_20 = dict(
    zip(
        (8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30),
        (0.6282, 0.9989, 1.588, 2.525, 4.016, 6.385, 10.15, 16.14, 25.67, 40.81, 64.90, 103.2),
        strict=True,
    )
)


@pytest.mark.parametrize(("gauge", "ohm"), OHM_PER_KILOFOOT_20.items())
def test_resistance_of_gauges_at_20_degc(gauge: int, ohm: float) -> None:
    """Solid annealed copper at 20 degC: the working table of NBS Handbook 100, as two secondary tables print it."""
    resistance = copper_resistance(parse_size(f"{gauge} AWG"))
    assert resistance * KILOFOOT == pytest.approx(ohm, rel=0.0003)


NEC_SOLID_75 = {18: 7.77, 16: 4.89, 14: 3.07, 12: 1.93, 10: 1.21, 8: 0.764}


@pytest.mark.parametrize(("gauge", "ohm"), NEC_SOLID_75.items())
def test_resistance_of_gauges_at_75_degc(gauge: int, ohm: float) -> None:
    """NEC chapter 9 Table 8, solid uncoated copper at 75 degC; three figures, so 10 AWG is off by 0.4 % of rounding."""
    resistance = copper_resistance(gauge_area(gauge), 75.0)
    assert resistance * KILOFOOT == pytest.approx(ohm, rel=0.004)


NEC_STRANDED_75 = {18: 7.95, 16: 4.99, 14: 3.14, 12: 1.98, 10: 1.24, 8: 0.778, 6: 0.491}


@pytest.mark.parametrize(("gauge", "ohm"), NEC_STRANDED_75.items())
def test_stranded_wire_has_two_percent_more(gauge: int, ohm: float) -> None:
    """NEC chapter 9 Table 8, seven strands: the lay makes each strand longer than the wire."""
    assert 1.015 < ohm / (copper_resistance(gauge_area(gauge), 75.0) * KILOFOOT) < 1.03


def test_nec_temperature_coefficient() -> None:
    """NEC chapter 9 Table 8, note 2: 0.00323 for copper, referred to 75 degC."""
    at_75 = copper_resistance(1.0, 75.0)
    assert (copper_resistance(1.0, 76.0) - at_75) / at_75 == pytest.approx(0.00323, abs=5e-6)


def test_standard_copper() -> None:
    """IEC 60028: 1/58 ohm mm2/m at 20 degC, 0.00393 per kelvin. A wire of 1 mm2 and 58 m has 1 ohm."""
    assert copper_resistance(1.0) * 58 == pytest.approx(1.0, rel=1e-12)
    assert round(COPPER_OHM_MM2_PER_M, 7) == 0.0172414
    assert COPPER_PER_KELVIN == 0.00393


IEC_FACTORS = {5: 1.064, 40: 0.926, 60: 0.862, 75: 0.820, 90: 0.781}


@pytest.mark.parametrize(("celsius", "factor"), IEC_FACTORS.items())
def test_temperature_factors(celsius: int, factor: float) -> None:
    """IEC 60228 factors from a temperature to 20 degC. It rounds the coefficient to 0.004, hence the half percent."""
    assert copper_resistance(1.0) / copper_resistance(1.0, celsius) == pytest.approx(factor, rel=0.005)


IEC_SIZES = (0.5, 0.75, 1.0, 1.5, 2.5, 4, 6, 10, 16)
IEC_SOLID_OR_STRANDED = (36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15)
IEC_FLEXIBLE = (39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21)


@pytest.mark.parametrize(("size", "ohm_per_km"), list(zip(IEC_SIZES, IEC_SOLID_OR_STRANDED, strict=True)))
def test_rated_sizes_solid_or_stranded(size: float, ohm_per_km: float) -> None:
    """IEC 60228 classes 1 and 2, plain copper at 20 degC: maxima, so 4 to 8 % above the nominal area's resistance."""
    assert 1.04 < ohm_per_km / (copper_resistance(parse_size(f"{size} mm2")) * 1000) < 1.08


@pytest.mark.parametrize(("size", "ohm_per_km"), list(zip(IEC_SIZES, IEC_FLEXIBLE, strict=True)))
def test_rated_sizes_flexible(size: float, ohm_per_km: float) -> None:
    """IEC 60228 class 5, plain copper at 20 degC: maxima, 10 to 16 % above the nominal area's resistance."""
    assert 1.10 < ohm_per_km / (copper_resistance(parse_size(f"{size} mm2")) * 1000) < 1.16


@pytest.mark.parametrize(("size", "ohm_per_km"), [(0.14, 134), (0.25, 76), (0.34, 53)])
def test_small_sizes(size: float, ohm_per_km: float) -> None:
    """DIN VDE 0295, small sizes, at 20 degC: maxima too."""
    assert 1.04 < ohm_per_km / (copper_resistance(parse_size(f"{size} mm2")) * 1000) < 1.16


@pytest.mark.parametrize(("code", "milliohm"), [("code100", 76), ("code83", 108), ("code70", 206)])
def test_rails(code: str, milliohm: int) -> None:
    """Nickel silver measured at 60 Hz and 1 A with a bridge, per metre of one rail: a community page on rail size."""
    assert RAILS[code].value == pytest.approx(milliohm / 1000, rel=1e-12)


def test_code100_is_the_higher_measurement() -> None:
    """A hobbyist's four-wire measurement at 1 A dc found 1.45 milliohm per inch (57.1 per metre) for code 100."""
    assert RAILS["code100"].value > 0.00145 / 0.0254


@pytest.mark.parametrize(
    ("size", "ampere"),
    [
        *[("0.75 mm2", 8.5), ("1.0 mm2", 10.1), ("1.5 mm2", 13.1), ("2.5 mm2", 17.4)],  # IEC 60204-1 Table 6, B2
        *[("4 mm2", 23), ("6 mm2", 30), ("10 mm2", 40), ("16 mm2", 54)],  # the same
        *[("18 AWG", 8.5), ("16 AWG", 10.1), ("14 AWG", 13.1), ("12 AWG", 17.4)],  # the rows below 0.823, 1.309, ...
        *[("10 AWG", 23), ("8 AWG", 30), ("6 AWG", 40)],  # ... 2.081, 3.309, 5.261, 8.366 and 13.30 mm2 (ASTM B258)
        *[("20 AWG", 5.866), ("22 AWG", 3.689), ("24 AWG", 2.320), ("26 AWG", 1.459)],  # 8.5 A / 0.75 mm2 x area
        *[("0.5 mm2", 5.667), ("0.34 mm2", 3.853), ("0.25 mm2", 2.833), ("0.14 mm2", 1.587)],  # the same
    ],
)
def test_ampacity(size: str, ampere: float) -> None:
    """Areas of gauges by ASTM B258; what is thinner than 0.75 mm2 in proportion to its area, a bound."""
    assert ampacity(size).amperes == pytest.approx(ampere, abs=0.0006)


@pytest.mark.parametrize(
    ("size", "least"),
    [
        *[("18 AWG", 10), ("16 AWG", 13), ("14 AWG", 18), ("12 AWG", 25)],  # NEC Table 400.5(A), cord, two conductors
        *[("14 AWG", 15), ("12 AWG", 20), ("10 AWG", 30)],  # NEC 240.4(D), and Table 310.16 at 60 degC
        *[("8 AWG", 40), ("6 AWG", 55)],  # NEC Table 310.16 at 60 degC
        *[("0.75 mm2", 12), ("1.0 mm2", 15), ("1.5 mm2", 18), ("2.5 mm2", 26)],  # DIN VDE 0298-4 Table 11, multicore
        *[("0.75 mm2", 10.4), ("4 mm2", 30), ("16 mm2", 70)],  # IEC 60204-1 Table 6, method E
        *[("0.14 mm2", 2), ("0.25 mm2", 4), ("0.34 mm2", 6), ("0.5 mm2", 9)],  # VDE 0100, small wire; superseded
    ],
)
def test_ampacity_is_the_careful_table(size: str, least: float) -> None:
    """Other tables, for better cooling, allow more; so a bound that lies below them is one. Fixture wire is the
    exception: NEC Table 402.5 has 6 A for 18 AWG and 8 A for 16 AWG."""
    assert ampacity(size).amperes < least
