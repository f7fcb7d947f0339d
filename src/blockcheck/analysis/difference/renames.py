"""What is perhaps the same thing under another name.

Only what one layout lacks and the other has anew is looked at, and only where the wiring around it tells: a block by
its channel, isolator and joints together, anything else by all that hangs on it. A guess that does not hold is none.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping

from attrs import field, frozen

from blockcheck.core.natural import natural_key
from blockcheck.model.wiring import Wiring, bank_count, bank_district

Names = Mapping[str, str]


@frozen(eq=False, repr=False)
class Renames:
    """Kind of table -> old name -> new name, for what is perhaps renamed. Every other name stands for itself."""

    of: Mapping[str, Names] = field(factory=dict)

    def new(self, kind: str, name: str) -> str:
        """The new layout's name of something of the old one."""
        return self.of.get(kind, {}).get(name, name)

    @property
    def every(self) -> Names:
        """Old name -> new name, of whatever kind; of channels by their boards too."""
        return {old: new for names in self.of.values() for old, new in names.items()}


NONE = Renames()


def renames(old: Wiring, new: Wiring) -> Renames:
    """What is perhaps renamed from one layout to another."""
    boards = _pairs(
        old.layout.boards, new.layout.boards, lambda name: _on_board(old, name), lambda name: _on_board(new, name)
    )
    blocks = _blocks(old, new, boards)
    found = {"boards": boards, "blocks": blocks, "isolators": _isolators(old, new, blocks)}
    found["harnesses"] = _pairs(
        old.layout.harnesses,
        new.layout.harnesses,
        lambda name: frozenset(blocks.get(one, one) for one in _in_harness(old, name)),
        lambda name: frozenset(_in_harness(new, name)),
    )
    found["districts"] = _pairs(
        old.layout.districts,
        new.layout.districts,
        lambda name: _feeds(old, name, Renames(found)),
        lambda name: _feeds(new, name, NONE),
    )
    districts = found["districts"]
    found["boosters"] = _pairs(
        old.layout.boosters,
        new.layout.boosters,
        lambda name: frozenset(districts.get(one, one) for one in _on_booster(old, name)),
        lambda name: frozenset(_on_booster(new, name)),
    )
    return Renames(found)


def _pairs(
    old: Iterable[str],
    new: Iterable[str],
    tells_old: Callable[[str], frozenset[Hashable]],
    tells_new: Callable[[str], frozenset[Hashable]],
) -> dict[str, str]:
    """Gone and new names of which just one each has the same, and something, hanging on it."""
    gone = [name for name in old if name not in set(new)]
    come = [name for name in new if name not in set(old)]
    by: dict[frozenset[Hashable], list[str]] = {}
    for name in come:
        by.setdefault(tells_new(name), []).append(name)
    mine: dict[frozenset[Hashable], list[str]] = {}
    for name in gone:
        mine.setdefault(tells_old(name), []).append(name)
    return {
        names[0]: by[told][0] for told, names in mine.items() if told and len(names) == 1 and len(by.get(told, ())) == 1
    }


def _on_board(wiring: Wiring, board: str) -> frozenset[Hashable]:
    return frozenset(
        (fed.block.name, fed.channel.number)
        for fed in wiring.fed.values()
        if fed.channel is not None and fed.channel.board == board
    )


def _in_harness(wiring: Wiring, harness: str) -> list[str]:
    return [name for name, fed in wiring.fed.items() if fed.block.harness == harness]


def _on_booster(wiring: Wiring, booster: str) -> list[str]:
    return [name for name, district in wiring.layout.districts.items() if district.booster == booster]


def _feeds(wiring: Wiring, district: str, names: Renames) -> frozenset[Hashable]:
    """The banks that a district feeds, and the blocks that hang on it without a detector."""
    found: set[Hashable] = set()
    for name, board in wiring.layout.boards.items():
        kind = wiring.layout.board_types.get(board.type)
        for bank in range(1, (bank_count(kind) if kind else 0) + 1):
            if bank_district(wiring.layout, board, bank) == district:
                found.add((names.new("boards", name), bank))
    for name, fed in wiring.fed.items():
        if fed.channel is None and fed.district == district:
            found.add(names.new("blocks", name))
    return frozenset(found)


def _blocks(old: Wiring, new: Wiring, boards: Names) -> dict[str, str]:
    """Blocks by channel; then the guesses whose isolators or joints do not agree are given up, until all do."""
    gone = [name for name in old.fed if name not in new.fed]
    come = [name for name in new.fed if name not in old.fed]
    on = _by_channel(new, come, {})
    guess = {
        names[0]: on[channel][0]
        for channel, names in _by_channel(old, gone, boards).items()
        if len(names) == 1 and len(on.get(channel, ())) == 1
    }
    while True:
        kept = {
            before: after
            for before, after in guess.items()
            if _joints(old, before, guess) == _joints(new, after, {}) and _same_isolator(old, new, before, after, guess)
        }
        if len(kept) == len(guess):
            return dict(sorted(kept.items(), key=lambda pair: natural_key(pair[1])))
        guess = kept


def _by_channel(wiring: Wiring, blocks: Iterable[str], boards: Names) -> dict[tuple[str, int], list[str]]:
    found: dict[tuple[str, int], list[str]] = {}
    for name in blocks:
        channel = wiring.fed[name].block.channel
        if channel is not None:
            found.setdefault((boards.get(channel.board, channel.board), channel.number), []).append(name)
    return found


def _joints(wiring: Wiring, block: str, names: Names) -> list[tuple[str, ...]]:
    found = []
    for joint in wiring.layout.joints:
        if block in joint.blocks and len(joint.blocks) == 2:
            mine = 0 if joint.blocks[0] == block else 1
            other = str(joint.blocks[1 - mine])
            found.append((names.get(other, other), joint.gap, joint.ends[mine], joint.ends[1 - mine]))
    return sorted(found)


def _same_isolator(old: Wiring, new: Wiring, before: str, after: str, names: Names) -> bool:
    first, second = old.fed[before].block.isolated_by, new.fed[after].block.isolated_by
    if first == second or len(first) != len(second):
        return first == second
    same = _isolators(old, new, names)
    return all(
        one == other or (one.pole == other.pole and same.get(one.isolator) == other.isolator)
        for one, other in zip(first, second, strict=True)
    )


def _isolators(old: Wiring, new: Wiring, blocks: Names) -> dict[str, str]:
    def tells(wiring: Wiring, name: str, names: Names) -> frozenset[Hashable]:
        isolator = wiring.layout.isolators[name]
        return frozenset((names.get(one, one), isolator.side, isolator.contact) for one in wiring.switched[name])

    return _pairs(
        old.layout.isolators,
        new.layout.isolators,
        lambda name: tells(old, name, blocks),
        lambda name: tells(new, name, {}),
    )
