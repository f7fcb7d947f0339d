"""Layouts of any size for the benchmarks: yards of 16 blocks behind a throat, 100 blocks a district, no ranges."""

from __future__ import annotations

import sys
from pathlib import Path

YARD = 16
DISTRICT = 96


def layout(blocks: int) -> str:
    """The text of a correct layout of about that many blocks, every table written out."""
    yards = -(-blocks // YARD)
    per_district = DISTRICT // YARD
    districts = -(-yards // per_district)
    lines = ["format = 1", "[layout]", 'name = "Long sidings"', 'control = "dcc"', ""]
    lines += ["[board_types.sixteen]", "channels = 17", 'threshold = "1.5 mA"', 'channel_current = "2 A"', ""]
    lines += ["[loads.shunter]", "locomotive = true", 'idle = "20 mA"', 'length = "0.2 m"', ""]
    for district in range(1, districts + 1):
        lines += [f"[boosters.B{district}]", 'voltage = "14 V"', 'current = "5 A"', ""]
        lines += [f"[districts.d{district}]", f'booster = "B{district}"']
        lines += ['expects = [{ load = "shunter", count = 20 }]', ""]
    number = 0
    for yard in range(1, yards + 1):
        district = (yard - 1) // per_district + 1
        lines += [f"[boards.D{yard}]", 'type = "sixteen"', f'banks = ["d{district}"]', ""]
        lines += [f"[blocks.T{yard}]", f'channel = "D{yard}.17"', 'kind = "throat"', f'group = "y{yard}"', ""]
        for channel in range(1, YARD + 1):
            number += 1
            lines += [f"[blocks.S{number}]", f'channel = "D{yard}.{channel}"', f'isolator = "I{number}"']
            lines += ['kind = "storage"', 'length = "2.5 m"', f'group = "y{yard}"', f"track = {channel}", ""]
            lines += [f"[isolators.I{number}]", 'rating = "2 A"', ""]
            lines += ["[[joints]]", f'blocks = ["T{yard}", "S{number}"]', 'gap = "detected"', ""]
    return "\n".join(lines)


if __name__ == "__main__":
    Path(sys.argv[2]).write_text(layout(int(sys.argv[1])), "utf-8")
