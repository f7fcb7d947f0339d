"""Three sound layouts of different kinds draw no false alarm, and a trouble planted in one of them is found.

They are a yard under direct current, a club of two districts under dcc, and a there-and-back line that turns trains.
"""

from __future__ import annotations

import re

import pytest

from blockcheck import api

DC_YARD = """
format = 1
layout = { name = "Fennel Sidings", control = "dc" }
boosters.cab = { voltage = "12 V", current = "1.5 A", trip = "2 A", delay = "50 ms" }
districts.yard = { booster = "cab", feed = { wire = "1.5 mm2", length = "1 m" } }
loads.pug = { locomotive = true, length = "12 cm", running = "250 mA" }
loads.van = { length = "11 cm" }
trains.shunt = { vehicles = { pug = 1, van = 5 }, at = "S1", state = "running" }
harnesses.H = { bus = "1 mm2", common = "1.5 mm2", lead = "1 m", feeder = "0.5 mm2", feeder_length = "20 cm", \
feeder_spacing = "1 m", rail = "code100" }
isolators.I1-I4 = { rating = "3 A", usually = "open" }
isolators.I1 = { usually = "closed" }
blocks.S1-S4 = { undetected = "seen from the bench", district = "yard", isolator = "I1-I4", kind = "storage", \
length = "1.2 m", harness = "H" }
blocks.lead = { undetected = "seen from the bench", district = "yard", kind = "throat", length = "80 cm", \
harness = "H" }
turnouts.P1-P3 = { block = "lead", diverging = "S1-S3" }
turnouts.P1-P2 = { through = "P2-P3" }
turnouts.P3 = { through = "S4" }
joints = [{ blocks = ["lead", "S1-S4"], gap = "detected" }]
"""
CLUB = """
format = 1
layout = { name = "Sorrel Junction", control = "dcc" }
boosters.B1-B2 = { voltage = "15 V", current = "3 A", trip = "3.5 A", delay = "80 ms" }
districts.north = { booster = "B1", return = "north", feed = { wire = "2.5 mm2", length = "2 m" } }
districts.south = { booster = "B2", return = "south", feed = { wire = "2.5 mm2", length = "2 m" } }
board_types.eight = { channels = 8, bank_size = 4, threshold = "0.5 mA", channel_current = "2 A", drop = "0.7 V" }
boards.D1 = { type = "eight", banks = ["north", "south"], first_address = 1, spare = [4, 8] }
loads.mogul = { locomotive = true, sound = true, length = "20 cm", idle = "100 mA", running = "350 mA", \
stalled = "1 A", capacitance = "470 uF" }
loads.van = { axle = "10 kohm", length = "12 cm" }
trains.goods = { vehicles = { mogul = 1, van = 10 }, at = "N1", state = "running" }
trains.mail = { vehicles = { mogul = 1, van = 6 }, at = "S1", state = "idle" }
harnesses.HN = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "20 cm", \
feeder_spacing = "1 m", rail = "code83", capacitance = "50 pF/m", leakage = "5 Mohm m" }
harnesses.HS = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "20 cm", \
feeder_spacing = "1 m", rail = "code83", capacitance = "50 pF/m", leakage = "5 Mohm m" }
isolators.I1-I4 = { rating = "5 A" }
blocks.N1-N2 = { channel = "D1.1-2", isolator = "I1-I2", kind = "storage", length = "2 m", harness = "HN" }
blocks.north-line = { channel = "D1.3", kind = "running", length = "3 m", harness = "HN" }
blocks.S1-S2 = { channel = "D1.5-6", isolator = "I3-I4", kind = "storage", length = "2 m", harness = "HS" }
blocks.south-line = { channel = "D1.7", kind = "running", length = "3 m", harness = "HS" }
joints = [
  { blocks = ["north-line", "N1-N2"], gap = "detected" },
  { blocks = ["south-line", "S1-S2"], gap = "detected" },
  { blocks = ["north-line", "south-line"], ends = ["near", "near"], gap = "both" },
]
"""
LINE = """
format = 1
layout = { name = "Clover Halt", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A", trip = "4 A", delay = "60 ms" }
districts.line = { booster = "B1", feed = { wire = "2.5 mm2", length = "1 m" } }
districts.east = { booster = "B1", return = "east", polarity = "automatic", turns_at = "2 A", turn_delay = "1 ms", \
feed = { wire = "2.5 mm2", length = "4 m" } }
districts.west = { booster = "B1", return = "west", polarity = "switch", feed = { wire = "2.5 mm2", length = "4 m" } }
board_types.one = { channels = 3, bank_size = 1, threshold = "0.5 mA", channel_current = "2 A", drop = "0.7 V" }
boards.D1 = { type = "one", banks = ["line", "east", "west"] }
loads.railcar = { locomotive = true, length = "25 cm", idle = "80 mA", running = "300 mA", capacitance = "220 uF", \
axle = "10 kohm" }
trains.car = { vehicles = { railcar = 2 }, at = "line", state = "running" }
harnesses.H1-H3 = { bus = "1.5 mm2", common = "2.5 mm2", lead = "1 m", feeder = "0.5 mm2", feeder_length = "20 cm", \
feeder_spacing = "1 m", rail = "code83", capacitance = "50 pF/m", leakage = "5 Mohm m" }
blocks.line = { channel = "D1.1", length = "5 m", harness = "H1" }
blocks.east = { channel = "D1.2", length = "2 m", harness = "H2" }
blocks.west = { channel = "D1.3", length = "2 m", harness = "H3" }
joints = [
  { blocks = ["line", "east"], gap = "both" },
  { blocks = ["line", "east"], ends = ["far", "far"], gap = "both" },
  { blocks = ["line", "west"], ends = ["near", "near"], gap = "both" },
  { blocks = ["line", "west"], ends = ["near", "far"], gap = "both" },
]
"""
COILS = re.sub(r"(blocks\.[\w-]+ = \{)", r"\1 passes = 5,", CLUB.replace('drop = "0.7 V"', 'sensing = "coil"'))
COILS = COILS.replace('threshold = "0.5 mA"', 'threshold = "4 mA"')
SOUND = {"a yard under dc": DC_YARD, "a club under dcc": CLUB, "the same with coils": COILS, "there and back": LINE}
PLANTED = {
    # trouble: the layout, what is written in place of what, the rules that find it
    "a loop with no device": (
        LINE,
        'polarity = "automatic", turns_at = "2 A", turn_delay = "1 ms", ',
        "",
        "rails-crossed",
    ),
    "a loop with no switch": (LINE, 'polarity = "switch", ', "", "rails-crossed"),
    "a loop cut in one rail": (
        LINE,
        '["line", "east"], gap = "both"',
        '["line", "east"], gap = "detected"',
        "districts-joined",
    ),
    "a loop shorter than its train": (
        LINE,
        'channel = "D1.3", length = "2 m"',
        'channel = "D1.3", length = "40 cm"',
        "reversing-too-short",
    ),
    "axles that draw too much": (CLUB, 'axle = "10 kohm"', 'axle = "40 ohm"', "district-over-current"),
    "a border cut in one rail": (CLUB, '"near"], gap = "both"', '"near"], gap = "detected"', "districts-joined"),
    "a bridge past a detector": (
        CLUB,
        '["south-line", "S1-S2"], gap = "detected"',
        '["south-line", "S1-S2"], gap = "none"',
        "gap-missing",
    ),
    "a charge that locks out": (CLUB, 'capacitance = "470 uF"', 'capacitance = "40 mF"', "inrush-lockout"),
    "a wagon that is not seen": (CLUB, 'axle = "10 kohm"', 'axle = "47 kohm"', "vehicle-unseen"),
    "a feed that passes its coil once": (COILS, 'passes = 5, channel = "D1.7"', 'channel = "D1.7"', "vehicle-unseen"),
    "a breaker above its booster's": (
        CLUB,
        'south = { booster = "B2"',
        'south = { trip = "4 A", booster = "B2"',
        "trip-order",
    ),
    "boosters of other volts across a gap": (
        CLUB,
        "districts.north =",
        'boosters.B2 = { voltage = "18 V" }\ndistricts.north =',
        "supplies-unequal",
    ),
    "a wire that burns": (DC_YARD, 'common = "1.5 mm2"', 'common = "0.05 mm2"', "wire-over-current"),
    "a switch that kills its neighbours": (
        CLUB,
        'I1-I4 = { rating = "5 A"',
        'I1-I4 = { rating = "5 A", side = "before-detector"',
        "isolation-overreach",
    ),
    "a leg that joins two tracks": (
        DC_YARD,
        '"lead", "S1-S4"], gap = "detected"',
        '"lead", "S1-S4"], gap = "none"',
        "isolation-leak",
    ),
}


def found(text: str) -> set[str]:
    return {one.rule for one in api.check(api.loads(text, "yard.toml")).findings}


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_layout_draws_no_false_alarm(name: str) -> None:
    assert [str(one) for one in api.check(api.loads(SOUND[name], "yard.toml")).findings] == []


@pytest.mark.parametrize("trouble", PLANTED)
def test_a_trouble_is_found_where_it_is_planted(trouble: str) -> None:
    text, old, new, rule = PLANTED[trouble]
    assert text.count(old) == 1
    assert rule not in found(text)
    assert rule in found(text.replace(old, new))
