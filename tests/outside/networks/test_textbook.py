"""Worked examples from textbooks, solved through the public parts, to the digits printed.

LIEC is "Lessons in Electric Circuits" (volume DC), OS-UP2 is OpenStax "University Physics" volume 2, Mehta is
Mehta and Mehta, "Principles of Power System". Where a book prints no answer the exact one is computed from its
data, and the check says so.
"""

from decimal import Decimal

import pytest

from blockcheck.solver.network import Builder, Network
from blockcheck.solver.solve import operating_point
from tests.outside.networks.pairs import thevenin

from .circuits import circuit


def printed(value: float, answer: str) -> bool:
    """Whether a value rounds to the answer as printed (half a unit of its last digit, and rounding of halves
    either way)."""
    unit = Decimal(1).scaleb(int(Decimal(answer).as_tuple().exponent))
    return abs(Decimal(value) - Decimal(answer)) <= unit / 2 + Decimal("1e-12")


def check(pairs: list[tuple[float, str]]) -> None:
    wrong = [(value, answer) for value, answer in pairs if not printed(value, answer)]
    assert wrong == []


def test_w1_branch_current_method() -> None:
    """LIEC DC ch. 10, branch current method."""
    found = circuit("V1 1 0 28; V2 3 0 7; R1 1 2 4; R2 2 0 2; R3 2 3 1")
    volts, amperes = found.volts, found.amperes
    check([(volts("2"), "8.000"), (volts("1", "2"), "20.000"), (volts("2", "3"), "1.000")])
    check([(amperes("R1"), "5.000"), (amperes("R2"), "4.000"), (amperes("R3"), "1.000")])


def test_w2_unbalanced_wheatstone_bridge() -> None:
    """LIEC DC ch. 10, unbalanced Wheatstone bridge; exact 512/29 and 560/29."""
    found = circuit("V1 1 0 24; R1 1 2 150; R2 1 3 50; R3 2 3 100; R4 2 0 300; R5 3 0 250")
    check([(found.volts("2"), "17.655"), (found.volts("3"), "19.310"), (found.volts("1", "2"), "6.345")])
    check([(found.volts("1", "3"), "4.690"), (found.volts("3", "2"), "1.655"), (found.amperes("V1"), "0.136092")])
    assert found.volts("2") == pytest.approx(512 / 29, rel=1e-14)
    assert found.volts("3") == pytest.approx(560 / 29, rel=1e-14)


def test_w3_delta_and_star() -> None:
    """LIEC DC ch. 10, delta-Y conversions."""
    found = circuit("V1 1 0 10; R1 1 2 12; R2 1 3 18; R3 2 3 6; R4 2 0 18; R5 3 0 12")
    check([(found.volts("2"), "5.294"), (found.volts("3"), "4.706"), (found.volts("2", "3"), "0.5882")])


def test_w4_node_voltage_method() -> None:
    """LIEC DC ch. 10, node voltage method; exact 80/21 and -65/42."""
    found = circuit("V1 11 0 10; V2 22 0 -4; R1 11 1 2; R2 1 0 4; R3 1 2 2.5; R4 2 0 5; R5 2 22 1")
    check([(found.volts("1"), "3.809524"), (found.volts("2"), "-1.547619")])
    assert found.volts("1") == pytest.approx(80 / 21, rel=1e-14)
    assert found.volts("2") == pytest.approx(-65 / 42, rel=1e-14)


def test_w5_thevenin_norton_millman() -> None:
    """LIEC DC ch. 10, Thevenin's, Norton's and Millman's theorems, on the circuit of the branch current method."""
    found = circuit("V1 1 0 28; V2 3 0 7; R1 1 2 4; R3 2 3 1")
    seen = thevenin(found.operating, [(found.nodes["2"], found.nodes["0"])])[0]
    check([(seen.volts, "11.2"), (seen.ohms, "0.8"), (seen.volts / seen.ohms, "14")])
    loaded = circuit("V1 1 0 28; V2 3 0 7; R1 1 2 4; R3 2 3 1; R2 2 0 2")
    check([(loaded.volts("2"), "8"), (loaded.amperes("R2"), "4")])


def test_w6_series_parallel() -> None:
    """LIEC DC ch. 7, series-parallel combination."""
    found = circuit("V1 1 0 24; R1 1 4 100; R2 1 4 250; R3 4 0 350; R4 4 0 200")
    check([(found.volts("1", "4"), "8.627"), (found.volts("4"), "15.37")])
    check([(1000 * found.amperes(f"R{k}"), answer) for k, answer in enumerate(("86.27", "34.51", "43.92", "76.86"), 1)])


def test_w7_series() -> None:
    """OS-UP2 section 10.2, five resistors in series."""
    found = circuit("V1 1 0 9; R1 1 2 20; R2 2 3 20; R3 3 4 20; R4 4 5 20; R5 5 0 10")
    check([(found.amperes("V1"), "0.1"), (found.volts("1", "2"), "2"), (found.volts("5"), "1")])
    check([(9 * found.amperes("V1"), "0.9")])


def test_w8_ladder() -> None:
    """OS-UP2 section 10.2, series and parallel."""
    found = circuit("V1 1 0 24; R1 1 2 7; R2 2 0 10; R3 2 3 6; R4 3 0 4")
    check([(found.amperes("R1"), "2"), (found.amperes("R2"), "1"), (found.amperes("R3"), "1")])
    check(
        [(found.volts("1", "2"), "14"), (found.volts("2"), "10"), (found.volts("2", "3"), "6"), (found.volts("3"), "4")]
    )
    check([(24 * found.amperes("V1"), "48")])


def test_w9_drop_in_the_wires() -> None:
    """OS-UP2 section 10.2, a series resistance as that of wires (prints 5.10 ohm in all, cut off from 5.105)."""
    found = circuit("V1 1 0 12; R1 1 2 1.00; R2 2 0 6.00; R3 2 0 13.0")
    current, second = found.amperes("V1"), found.amperes("R2")
    assert int(100 * 12 / current) == 510
    check(
        [
            (12 / current, "5.11"),
            (current, "2.35"),
            (found.volts("2"), "9.65"),
            (second, "1.61"),
            (6 * second**2, "15.5"),
        ]
    )


def test_w10_kirchhoff() -> None:
    """OS-UP2 section 10.3, two sources in three branches."""
    found = circuit("V1 a 0 24; R1 a b 3; R2 b 0 3; R3 b c 7; V2 c 0 29")
    one, two, three = found.amperes("R1"), found.amperes("R2"), found.amperes("R3")
    check([(one, "3.00"), (two, "5.00"), (three, "-2.00"), (3 * one**2 + 3 * two**2 + 7 * three**2, "130")])


def test_w11_three_batteries() -> None:
    """OS-UP2 section 10.3, two sources feeding a third."""
    found = circuit("V1 p 0 0.5; R1 p c 3; V3 q 0 2.3; R2 q c 8; R3 c r 1; V2 0 r 0.6")
    one, two, three = found.amperes("R1"), found.amperes("R2"), found.amperes("R3")
    check([(one, "0.20"), (two, "0.30"), (three, "0.50"), (3 * one**2 + 8 * two**2 + three**2, "1.09")])


@pytest.mark.parametrize(("load", "current", "terminal"), [("10.00", "1.188", "11.88"), ("0.500", "20.00", "10.00")])
def test_w12_terminal_voltage(load: str, current: str, terminal: str) -> None:
    """OS-UP2 section 10.1, terminal voltage under load (the first prints 11.90 from its rounded current; exact
    11.88)."""
    found = circuit(f"V1 1 0 12.00 0.100; R1 1 0 {load}")
    check([(found.amperes("V1"), current), (found.volts("1"), terminal)])


def test_w13_distributor_fed_at_one_end() -> None:
    """Mehta example 13.1 p. 313: four taps, go and return resistance in one."""
    found = circuit(
        "V1 A 0 300; R1 A C .01; R2 C D .01; R3 D E .012; R4 E B .008; I1 C 0 100; I2 D 0 150; I3 E 0 200; I4 B 0 50"
    )
    check(
        [(found.volts("C"), "295"), (found.volts("D"), "291"), (found.volts("E"), "288"), (found.volts("B"), "287.6")]
    )
    check([(found.amperes("V1"), "500")])


def test_w14_distributor_fed_at_both_ends() -> None:
    """Mehta example 13.11 p. 322: feeds of 230 and 235 V; currents and least voltage printed, the other voltages
    computed."""
    found = circuit(
        "V1 A 0 230; V2 B 0 235; R1 A C .03; R2 C D .015; R3 D E .015; R4 E F .03; R5 F B .03;"
        "I1 C 0 25; I2 D 0 50; I3 E 0 30; I4 F 0 40"
    )
    check([(found.amperes("V1"), "33.33"), (found.amperes("V2"), "111.67"), (found.volts("D"), "228.875")])
    check([(found.volts("C"), "229"), (found.volts("E"), "229.5"), (found.volts("F"), "231.65")])


def test_w15_two_taps() -> None:
    """An examination's solution page: 500 V, two taps of 100 and 200 A."""
    found = circuit("V1 A 0 500; R1 A B .08; R2 B C .08; I1 B 0 100; I2 C 0 200")
    check([(found.volts("B"), "476"), (found.volts("C"), "460")])


def test_w16_star_of_feeds() -> None:
    """A power-distribution text, example 2.18.1 p. 437: five feeds to one point."""
    found = circuit(
        "V1 a 0 225; V2 b 0 210; V3 c 0 230; V4 d 0 230; V5 e 0 240; R1 a o 5; R2 b o 1; R3 c o 1; R4 d o 2; R5 e o 2"
    )
    check([(found.volts("o"), "225")])
    check([(found.amperes(f"R{k}"), answer) for k, answer in enumerate(("0", "-15", "5", "2.5", "7.5"), 1)])


def distributor(
    metres: float,
    ohms_per_metre: float,
    feeds: list[tuple[int, float]],
    taps: dict[int, float],
    uniform: range,
    rate: float,
) -> Network:
    """A distributor of sections of a metre, node k at k metres, the return last; uniform load `rate` A/m in the
    middles of `uniform`.

    Lumps in the middles of sections give the exact voltages of a spread load at the sections' ends.
    """
    count = round(metres)
    builder = Builder(count + 2)
    back = count + 1
    for at, volts in feeds:
        builder.source(at, back, volts)
    for k in range(count):
        if k in uniform:
            middle = builder.node()
            builder.resistor(k, middle, ohms_per_metre / 2)
            builder.resistor(middle, k + 1, ohms_per_metre / 2)
            builder.sink(middle, back, rate)
        else:
            builder.resistor(k, k + 1, ohms_per_metre)
    for at, amperes in taps.items():
        builder.sink(at, back, amperes)
    return builder.build()


@pytest.mark.parametrize(("feed", "place"), [(270.0, 250), (265.0, 125)])
def test_w17_uniform_load_fed_at_one_end(feed: float, place: int) -> None:
    """Mehta example 13.7: 1.6 A/m over 250 m of 2 x 0.0002 ohm/m; 250 V wanted at the far end, and at the middle."""
    found = operating_point(distributor(250, 2 * 0.0002, [(0, feed)], {}, range(250), 1.6))
    check([(found.volts[place], "250.0"), (found.source_amperes[0], "400")])


def test_w18_uniform_load_fed_at_both_ends() -> None:
    """Mehta example 13.14: 0.5 A/m over 1000 m of 0.1 milliohm/m, both ends at 220 V."""
    found = operating_point(distributor(1000, 0.0001, [(0, 220), (1000, 220)], {}, range(1000), 0.5))
    least = min(found.volts[:1001])
    check([(least, "213.75"), (220 - least, "6.25")])
    assert found.volts[:1001].index(least) == 500


def test_w19_uniform_load_fed_unequally() -> None:
    """Mehta example 13.15: 1 A/m over 500 m of 0.2 milliohm/m, 255 and 250 V; data and formula printed, answers
    computed."""
    found = operating_point(distributor(500, 0.0002, [(0, 255), (500, 250)], {}, range(500), 1.0))
    least = min(found.volts[:501])
    check([(least, "246"), (found.source_amperes[0], "300"), (found.source_amperes[1], "200")])
    assert found.volts[:501].index(least) == 300


def test_w20_taps_and_uniform_load() -> None:
    """Mehta example 13.21 p. 332: 500 m of 1 milliohm/m, 240 V at both ends, two taps and 1 A/m over the last 200 m."""
    found = operating_point(
        distributor(500, 0.001, [(0, 240), (500, 240)], {100: 100.0, 250: 60.0}, range(300, 500), 1.0)
    )
    least = min(found.volts[:501])
    check([(found.source_amperes[0], "150"), (found.source_amperes[1], "210"), (least, "217.5")])
    assert found.volts[:501].index(least) == 250
