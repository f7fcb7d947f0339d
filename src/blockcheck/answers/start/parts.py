"""The parts of a file to start from that do not depend on where its blocks come from, each some commented lines."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from math import ceil

from attrs import frozen

from blockcheck.core.words import listed
from blockcheck.text.edits import key_of, quoted

_COLUMN = 26
"""Where comments behind a key begin."""


@frozen(kw_only=True)
class Measures:
    """Lengths and sizes in the units of a country, round there."""

    unit: str
    metres: float
    """In one unit."""
    track: str
    bounds: str
    """What a track may be long, for a message."""
    lead: str
    beside: str
    """From a district's terminal to a board beside it."""
    feed: str
    feed_length: str
    bus: str
    common: str
    feeder: str
    feeder_length: str
    spacing: str
    segment: str
    capacitance: str
    leakage: str
    panel: str
    pitch: str
    engine: str
    wagon: str

    def metres_told(self, metres: float) -> str:
        """A length of about so many metres, up to the next half unit or tenth."""
        step = 0.1 if self.unit == "m" else 0.5
        return f"{ceil(metres / self.metres / step - 1e-9) * step:g} {self.unit}"


_METRIC = Measures(
    unit="m",
    metres=1.0,
    track="2.4 m",
    bounds="0.5 m to 15 m",
    lead="1 m",
    beside="0.5 m",
    feed="2.5 mm2",
    feed_length="3 m",
    bus="1.5 mm2",
    common="2.5 mm2",
    feeder="0.5 mm2",
    feeder_length="0.2 m",
    spacing="1.2 m",
    segment="1.2 m",
    capacitance="50 pF/m",
    leakage="5 Mohm m",
    panel="2 m",
    pitch="25 mm",
    engine="0.2 m",
    wagon="0.14 m",
)
_IMPERIAL = Measures(
    unit="ft",
    metres=0.3048,
    track="8 ft",
    bounds="2 ft to 50 ft",
    lead="3 ft",
    beside="2 ft",
    feed="14 AWG",
    feed_length="10 ft",
    bus="16 AWG",
    common="14 AWG",
    feeder="20 AWG",
    feeder_length="8 in",
    spacing="4 ft",
    segment="4 ft",
    capacitance="15 pF/ft",
    leakage="15 Mohm ft",
    panel="6 ft",
    pitch="1 in",
    engine="8 in",
    wagon="5.5 in",
)


def in_units(units: str) -> Measures:
    """The measures of ``metric`` or ``imperial``."""
    return _IMPERIAL if units == "imperial" else _METRIC


def range_of(letter: str, first: int, last: int) -> str:
    """Names in a row as a layout has them: a range, or the only one."""
    return f"{letter}{first}" if first == last else f"{letter}{first}-{letter}{last}"


def section(title: str) -> str:
    """What a part begins with."""
    return f"\n# --- {title} ".ljust(114, "-") + "\n"


def aligned(parts: Iterable[str]) -> str:
    """The parts as one text, with the comments behind keys one below the other."""
    lines = []
    for line in "".join(parts).split("\n"):
        said, mark, comment = line.partition("  # ")
        lines.append(f"{said.rstrip().ljust(_COLUMN)} # {comment}" if mark and said else line)
    return re.sub("\n{3,}", "\n\n", "\n".join(lines)).rstrip("\n") + "\n"


def head(name: str, units: str, control: str = "dcc") -> str:
    """What the layout is."""
    return f"""\
format = 1

[layout]
name = {quoted(name)}
control = "{control}"
units = "{units}"
allowance = "10 %"  # yours: every wire is cut so much longer than its way
"""


def power(measures: Measures, districts: Sequence[str] = ("yard",), expects: str = "") -> str:
    """One booster, and the districts that it feeds; ``expects`` is a line on what is powered at once in each."""
    text = f"""\
{section("power")}\
# Track power can start a fire: every booster needs its own protection. Mains wiring is outside this file: local codes
# and licensed electricians decide.
[boosters.B1]
voltage = "14 V"  # yours: track voltage without load
current = "3 A"  # yours: what it delivers all evening
trip = "4 A"  # yours: where it cuts off ...
delay = "60 ms"  # ... and how long it bears more
resistance = "0.05 ohm"  # yours: of its output
"""
    for district in districts:
        text += f"""
[districts.{key_of(district)}]
booster = "B1"
feed = {{ wire = "{measures.feed}", length = "{measures.feed_length}" }}  # yours: the pair to the yard
{expects}"""
    return text


BOARDS_NOTE = "# What the data sheet of a board says, once for all of that type: common practice, no source. Yours.\n"


def board_type(name: str, channels: int, bank_size: int | None = None) -> str:
    """One kind of board: a coil for each channel."""
    banks = f"bank_size = {bank_size}\n" if bank_size is not None else ""
    return f"""\
[board_types.{name}]
channels = {channels}
{banks}threshold = "1.5 mA"  # least current that reads occupied
channel_current = "5 A"
sensing = "coil"  # the feed passes through a coil, and loses no voltage

"""


def board_feed(measures: Measures) -> str:
    """The wire to a board's feed terminals."""
    return f'feed = {{ wire = "{measures.feed}", length = "{measures.beside}" }}  # yours: to each feed terminal\n'


def detection(measures: Measures, boards: Sequence[tuple[str, int, Sequence[int]]], left: Sequence[str] = ()) -> str:
    """Boards by name, with how many channels each has and which are spare; ``left`` are those without a block."""
    text = section("detection") + BOARDS_NOTE
    for count in dict.fromkeys(count for _, count, _ in boards):
        text += board_type(f"{count}-channel", count)
    address = 1
    for name, count, spare in boards:
        last = f", channel {count} as {address + count - 1}" if count > 1 else ""
        text += f"""\
[boards.{name}]
type = "{count}-channel"
first_address = {address}  # yours: channel 1 reports as {address}{last}
at = "under the yard"  # yours: for those who look for it
"""
        text += board_feed(measures)
        text += f"spare = [{', '.join(map(str, spare))}]  # free on purpose\n\n" if spare else "\n"
        address += count
    if left:
        text += f"# No block is on {listed(left)}: describe what is left over once one is.\n"
    return text


COLOURS = ("yellow", "blue", "green", "white", "orange", "violet", "grey")


def harness(measures: Measures, colours: Sequence[str] = COLOURS, lead: str = "", begins: str = "channel") -> str:
    """The wires under the yard; colours of insulation are dealt out to its blocks. ``lead`` is a line on that.

    A block's bus ``begins`` at its channel, or at its switch.
    """
    detected = ", ".join(map(quoted, colours))
    dealt = f'colours = {{ detected = [{detected}], common = "black" }}\n' if colours else ""
    return f"""\
{section("wires")}\
# Every block has a bus of its own from its {begins}, and one common return serves them all. Drops go up to the rails.
[harnesses.yard]
bus = "{measures.bus}"
common = "{measures.common}"
{lead}feeder = "{measures.feeder}"  # one drop from bus to rail
feeder_length = "{measures.feeder_length}"
feeder_spacing = "{measures.spacing}"  # no wheel is farther than half of this from a drop
segment = "{measures.segment}"  # yours: bench-work sections, where every bus is cut and joined
joint_resistance = "2 mohm"
rail = "code83"  # yours: or code100, code70
{dealt}capacitance = "{measures.capacitance}"  # between a bus and the common: common practice, no source
leakage = "{measures.leakage}"  # of the roadbed, between the rails: common practice, no source
"""


def panel(measures: Measures, rows: Sequence[Sequence[str]], begins: str = "a board") -> str:
    """The control panel; ``rows`` are the switches, row by row; what they switch ``begins`` at a board, or at a cab."""
    listed_rows = ", ".join(f"[{', '.join(map(quoted, row))}]" for row in rows)
    first = rows[0][0].partition("-")[0] if rows[0][0][1:2].isdigit() else rows[0][0]
    return f"""\
{section("control panel")}\
# blockcheck panel draws it at 1:1, with the places of the holes; {first} is in the first hole of the top row.
[panels.fascia]
at = "in front of the yard"  # yours
wire = "{measures.feeder}"
from_board = "{measures.panel}"  # yours: each wire from {begins} to its switch ...
to_bus = "{measures.panel}"  # ... and from there to where the bus begins
rows = [{listed_rows}]
pitch = "{measures.pitch}"
"""


def vehicles(measures: Measures, wagons: bool) -> str:
    """Kinds of vehicle: one that draws, and one that is to be seen."""
    engine = f"""\
[loads.engine]
locomotive = true
sound = true
idle = "90 mA"
running = "0.3 A"
stalled = "1 A"
capacitance = "470 uF"  # what its decoder must charge when its track wakes
charge_resistance = "100 ohm"
length = "{measures.engine}"
"""
    wagon = f"""\

[loads.wagon]
axles = 2  # two of its axles have a resistor, so that it is seen
axle_resistance = "10 kohm"
length = "{measures.wagon}"
"""
    note = "# Kinds of vehicle: common practice, no source. A value that you have measured is always better. Yours.\n"
    return section("vehicles") + note + engine + (wagon if wagons else "")
