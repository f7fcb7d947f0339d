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


if __name__ == "__main__":
    Path(sys.argv[2]).write_text(layout(int(sys.argv[1]), "wired" in sys.argv[3:]), "utf-8")
