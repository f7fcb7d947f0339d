"""A helix: turns one over the other, their front heavy and their back thin."""

from __future__ import annotations

from blockcheck.drawing.figures.figure import ROW, Figure, Gap, Room
from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.plan.parts import Coil

LEAST = 26.0
"""How wide a turn is at least."""


def coil(maker: Maker, item: Coil) -> Figure:
    """Blocks that wind up, in at the lower left and out at the upper right."""
    width = max(LEAST, *(maker.width(one.block) for one in item.items))
    left, right, bend = 4.0, 4.0 + width, ROW / 4
    made = Figure()
    turns = [(one, turn) for one in item.items for turn in range(max(1, maker.turns(one.block)))]
    made.line(turns[0][0].block, (0, 0), (left, 0))
    y = 0.0
    for number, (one, turn) in enumerate(turns):
        if turn == 0:
            made.add(Room((left + width / 2, y), one.block, maker.room(one.block)))
            if one.joint_first is not None:
                made.add(Gap((left if number else 0.0, y), one.joint_first))
        if number == len(turns) - 1:
            break
        back, up = y - ROW / 2, y - ROW
        made.line(
            one.block, (left, y), (right, y), (right + bend, y - bend), (right + bend, back + bend), (right, back)
        )
        made.line(one.block, (right, back), (left, back), behind=True)
        made.line(one.block, (left, back), (left - bend, back - bend), (left - bend, up + bend), (left, up))
        y = up
    last = turns[-1][0]
    out = right + bend + 4
    made.line(last.block, (left, y), (out, y))
    if last.joint_last is not None:
        made.add(Gap((out, y), last.joint_last))
    return made.shaped(out, y)
