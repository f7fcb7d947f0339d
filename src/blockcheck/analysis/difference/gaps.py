"""The places where two blocks' rails meet, and which of them are cut there."""

from __future__ import annotations

from attrs import field, frozen

from blockcheck.analysis.difference.renames import NONE, Renames
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Joint
from blockcheck.model.wiring import Wiring


@frozen
class Gap:
    """Two blocks' ends that meet, and which rails are cut there: detected, common, both or none."""

    key: tuple[str, ...]
    first: str
    first_end: str
    second: str
    second_end: str
    cut: str
    joint: Joint = field(eq=False)


def gaps(wiring: Wiring, names: Renames = NONE) -> dict[tuple[str, ...], Gap]:
    """All places where two blocks' rails meet, in natural order, whichever block is named first."""
    found: dict[tuple[str, ...], Gap] = {}
    count: dict[tuple[str, ...], int] = {}
    ends = []
    for joint in wiring.layout.joints:
        mapped = [names.new("blocks", str(block)) for block in joint.blocks]
        plain = list(zip(mapped, joint.blocks, joint.ends, strict=True))
        ordered = sorted(plain, key=lambda one: (natural_key(one[0]), one[2]))
        ends.append((ordered, joint, ordered != plain))
    ends.sort(key=lambda one: ([(natural_key(name), end) for name, _, end in one[0]], one[1].gap))
    for (one, two), joint, turned in ends:
        place = (one[0], one[2], two[0], two[2])
        count[place] = count.get(place, 0) + 1
        key = (*place, str(count[place]))
        first, second = (two, one) if turned else (one, two)
        found[key] = Gap(key, str(first[1]), first[2], str(second[1]), second[2], joint.gap, joint)
    return found
