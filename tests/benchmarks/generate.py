"""Layouts of any size for the benchmarks: yards of 16 blocks behind a throat, 100 blocks a district, no ranges.

With ``wired`` every datum of the network is there, about 38 nodes a block: sidings of several lengths side by side, so
that no two drops of a yard meet the common bus at one place, in four kinds of yard.
"""

from __future__ import annotations

import sys
from pathlib import Path

YARD = 16
DISTRICT = 96
HARNESS = ['bus = "2.5 mm2"', 'common = "6 mm2"', 'lead = "2.7 m"', 'feeder = "0.75 mm2"', 'feeder_length = "0.2 m"']
HARNESS += ['feeder_spacing = "0.36 m"', 'rail = "code83"', 'segment = "1.2 m"', 'joint_resistance = "1 mohm"']
HARNESS += ['capacitance = "50 pF/m"', 'leakage = "5 Mohm m"']
BENCH_HARNESS = """\
bus = "1.5 mm2"
common = "2.5 mm2"
lead = "2.5 m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "1.2 m"
segment = "1.2 m"
rail = "code83"
"""
"""What a bench needs to know of a harness."""


def layout(blocks: int, wired: bool = False, booster: str = "") -> str:
    """The text of a correct layout of about that many blocks, every table written out.

    Every district has a booster of its own, or all are fed by the one that ``booster`` describes.
    """
    yards = -(-blocks // YARD)
    per_district = DISTRICT // YARD
    districts = -(-yards // per_district)
    lines = ["format = 1", "[layout]", 'name = "Long sidings"', 'control = "dcc"', ""]
    lines += ["[board_types.sixteen]", "channels = 17", 'threshold = "1.5 mA"', 'channel_current = "2 A"', ""]
    lines += ["[loads.shunter]", "locomotive = true", 'idle = "20 mA"', 'length = "0.2 m"']
    lines += ['running = "0.2 A"', "", "[loads.wagon]", 'axle = "4.7 kohm"', ""] if wired else [""]
    if wired:
        lines[lines.index("channels = 17")] += '\ndrop = "0.7 V"'
    for district in range(1, districts + 1):
        if not booster or district == 1:
            lines += [f"[boosters.B{district}]", 'voltage = "14 V"', booster or 'current = "5 A"', ""]
        lines += [f"[districts.d{district}]", f'booster = "B{1 if booster else district}"']
        lines += ['expects = [{ load = "shunter", count = 20 }]']
        lines += ['feed = { wire = "6 mm2", length = "2.5 m" }', 'trip = "8 A"', ""] if wired else [""]
    number = 0
    for yard in range(1, yards + 1):
        district = (yard - 1) // per_district + 1
        lines += [f"[boards.D{yard}]", 'type = "sixteen"', f'banks = ["d{district}"]', ""]
        lines += [f"[blocks.T{yard}]", f'channel = "D{yard}.17"', 'kind = "throat"', f'group = "y{yard}"']
        if wired:
            lines += ['length = "1.6 m"', f'harness = "y{yard}"', 'lead = "1.1 m"']
            lines += ["", f"[harnesses.y{yard}]", *HARNESS]
        lines += [""]
        for channel in range(1, YARD + 1):
            number += 1
            lines += [f"[blocks.S{number}]", f'channel = "D{yard}.{channel}"', f'isolator = "I{number}"']
            length = f"{2.52 + 0.013 * (channel * (2 * (yard % 4) + 3) % 29):.3f}" if wired else "2.5"
            lines += ['kind = "storage"', f'length = "{length} m"', f'group = "y{yard}"', f"track = {channel}"]
            lines += [f'harness = "y{yard}"', ""] if wired else [""]
            lines += [f"[isolators.I{number}]", 'rating = "2 A"', ""]
            lines += ["[[joints]]", f'blocks = ["T{yard}", "S{number}"]', 'gap = "detected"', ""]
    return "\n".join(lines)


def between_throats(gap: str) -> str:
    """Fourteen tracks between two throats, a switch each, two boards of eight."""
    return f"""\
format = 1
layout = {{ name = "Heron Staithe", control = "dcc" }}
boosters.B1 = {{ voltage = "15 V", current = "5 A", trip = "6 A" }}
districts.yard = {{ booster = "B1", feed = {{ wire = "2.5 mm2", length = "4 m" }} }}
board_types.eight = {{ channels = 8, threshold = "0.5 mA", drop = "0.7 V" }}
boards.D1-D2 = {{ type = "eight" }}
isolators.I1-I14 = {{}}
[blocks]
T1-T8 = {{ channel = "D1.1-8", isolator = "I1-I8", length = "2.6 m", harness = "yard" }}
T9-T14 = {{ channel = "D2.1-6", isolator = "I9-I14", length = "3.2 m", harness = "yard" }}
west = {{ channel = "D2.7", length = "2.2 m", harness = "yard" }}
east = {{ channel = "D2.8", length = "2.2 m", lead = "6 m", harness = "yard" }}
[[joints]]
blocks = ["west", "T1-T14"]
gap = "{gap}"
[[joints]]
blocks = ["T1-T14", "east"]
gap = "{gap}"
[harnesses.yard]
{BENCH_HARNESS}"""


if __name__ == "__main__":
    Path(sys.argv[2]).write_text(layout(int(sys.argv[1]), "wired" in sys.argv[3:]), "utf-8")
