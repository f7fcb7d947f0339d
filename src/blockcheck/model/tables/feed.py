"""How a block is fed: by which channel, isolators and district, and with how many drops."""

from __future__ import annotations

from blockcheck.core.spans import Path
from blockcheck.model.layout import Block, Isolator
from blockcheck.model.quantities import DIMENSIONS, Metres, show
from blockcheck.model.tables.naming import Naming
from blockcheck.model.tables.through import feeder_of
from blockcheck.model.wiring import Fed, bank_district

MOST_DROPS = 1000
"""Drops of one block."""
MOST_JOINTS = 1_000_000
"""Bench-work joints along the bus of one block."""
_FEED = {
    **{one: one for one in ("channel", "undetected", "fed_through", "district", "harness", "feeders")},
    "isolator": "isolated_by",
    "lead": "lead_m",
    "feeders_at": "feeders_at_m",
    "across": "across",
}
"""What a block without power has none of, and the field of each."""
SHORTEST_M = 0.001
"""Nothing shorter is a block: rounding would swallow it."""


def feed(names: Naming, block: Block) -> Fed:
    """How a block is fed; what is missing is listed, and reported by the rules about structure."""
    layout = names.layout
    path: Path = ("blocks", block.name)
    _block_keys(names, block, path)
    names.known((*path, "harness"), block.harness, "harness", layout.harnesses)
    missing: list[Path] = []
    if not names.known((*path, "district"), block.district, "district", layout.districts):
        missing.append((*path, "district"))
    poles = _poles(names, block, path, missing)
    if block.unpowered is not None or block.fed_through is not None:
        return Fed(block)
    if block.channel is None:
        return _undetected(names, block, path, poles, missing)
    if not names.known((*path, "channel"), block.channel.board, "board", layout.boards):
        return Fed(block, poles=poles, district=block.district, missing=(*missing, (*path, "channel")))
    board = layout.boards[block.channel.board]
    kind = layout.board_types.get(board.type)
    if kind is None or not 1 <= block.channel.number <= kind.channels:
        at: Path = ("boards", board.name, "type") if kind is None else (*path, "channel")
        return Fed(block, board, kind, None, block.district, poles, (*missing, at))
    bank = (block.channel.number - 1) // (kind.bank_size or kind.channels) + 1
    district = bank_district(layout, board, bank)
    if district not in layout.districts:
        missing.append(("boards", board.name, "banks"))
    return Fed(block, board, kind, bank, district, poles, (*missing, *_unpowered(names, district)))


def through(names: Naming, block: Block, host: Fed | None) -> Fed:
    """How a block is fed that another one feeds by its rails."""
    path: Path = ("blocks", block.name, "fed_through")
    known = names.known(path, block.fed_through, "block or turnout", names.layout.blocks, names.layout.turnouts)
    if known and feeder_of(names.layout, block.name) == block.name:
        help_ = "name the block, or the turnout of the block, that is before it"
        names.fault(path, f"{block.name} is fed through itself", help_)
    elif known and host is None:
        message = f"{block.name} is fed through blocks of which none has a feed"
        names.fault(path, message, "write what feeds one of them")
    if host is None:
        return Fed(block, missing=(path,))
    return Fed(block, host.board, host.type, host.bank, host.district, (), host.missing, host.block)


def _unpowered(names: Naming, district: str | None) -> list[Path]:
    """What keeps a district from being fed: a booster that does not exist."""
    one = names.layout.districts.get(district) if district is not None else None
    return [] if one is None or one.booster in names.layout.boosters else [("districts", one.name, "booster")]


def _poles(names: Naming, block: Block, path: Path, missing: list[Path]) -> tuple[tuple[Isolator, int], ...]:
    """The isolators in a block's feed, each with its pole; one that does not exist goes to what is missing."""
    found: dict[Isolator, int] = {}
    for index, pole in enumerate(block.isolated_by):
        at: Path = (*path, "isolator", *((index,) if len(block.isolated_by) > 1 else ()))
        isolator = names.layout.isolators.get(pole.isolator)
        if isolator is None:
            names.known(at, pole.isolator, "isolator", names.layout.isolators)
            missing.append(at)
        elif isolator in found:
            message = f"{block.name} is behind {isolator.name} twice"
            names.fault(at, message, "name each isolator once: two poles of one switch open together")
        elif isolator.contact == "changeover" and any(one.contact == "changeover" for one in found):
            message = f"{block.name} is fed through two changeovers, one behind the other"
            names.fault(at, message, "name one of them: what is behind it has one feed")
        else:
            found[isolator] = pole.pole
    return tuple(found.items())


def _undetected(
    names: Naming, block: Block, path: Path, poles: tuple[tuple[Isolator, int], ...], missing: list[Path]
) -> Fed:
    district = block.district
    if district is None and len(names.layout.districts) == 1:
        district = next(iter(names.layout.districts))  # type: ignore[assignment]
    if block.undetected is None:
        return Fed(block, district=district, poles=poles, missing=(*missing, (*path, "channel")))
    between = [name for isolator, _ in poles for name in isolator.between or ()]
    if district is None and between:
        district = between[0]
    if district is None:
        help_ = f'write district = "...", one of {names.districts()}'
        names.fault(path, f"{block.name} has no channel that would tell its district, and names none", help_)
    return Fed(block, district=district, poles=poles, missing=(*missing, *_unpowered(names, district)))


def _block_keys(names: Naming, block: Block, path: Path) -> None:
    if block.channel is not None and block.undetected is not None:
        message = f"{block.name} has a channel and a reason for having none"
        names.fault((*path, "undetected"), message, "keep channel or undetected", key=True)
    plain = block.unpowered is not None
    for key, value in _FEED.items() if plain or block.fed_through is not None else ():
        if getattr(block, value) not in (None, ()) and (plain or key not in ("harness", "fed_through", "across")):
            kind = "is plain track without power" if plain else f"is fed through {block.fed_through}"
            help_ = f"keep {'unpowered' if plain else 'fed_through'} or {key}"
            names.fault((*path, key), f"{block.name} {kind}, and has {key}", help_, key=True)
    board = names.layout.boards.get(block.channel.board) if block.channel is not None else None
    type_ = names.layout.board_types.get(board.type) if board is not None else None
    if block.passes > 1 and (block.channel is None or (type_ is not None and type_.sensing != "coil")):
        message = f"the feed of {block.name} passes through no coil"
        names.fault((*path, "passes"), message, 'leave passes out, or write sensing = "coil" in its board\'s type')
    if block.feeders is not None and block.feeders_at_m is not None:
        message = f"{block.name} has both feeders and feeders_at"
        names.fault((*path, "feeders"), message, "keep one of the two", key=True)
    names.across((*path, "across"), block.across)
    _drops(names, block, path)
    for index, at_m in enumerate(block.feeders_at_m or ()):
        if block.length_m is not None and at_m > block.length_m:
            message = f"a drop of {block.name} lies beyond its end"
            most = show(block.length_m, DIMENSIONS[Metres], names.layout.about.units == "imperial")
            help_ = f"write at most {most}; distances count from the near end"
            names.fault((*path, "feeders_at", index), message, help_)


def _drops(names: Naming, block: Block, path: Path) -> None:
    """No block has no drops, or thousands of them or of bench-work joints; that is a slip, and cannot be solved."""
    harness = names.layout.harnesses.get(block.harness) if block.harness is not None else None
    if block.length_m and block.length_m < SHORTEST_M:
        names.fault((*path, "length"), f"{block.name} is shorter than 1 mm", 'write a length such as "9.0 m"')
    if block.feeders_at_m == ():
        names.fault((*path, "feeders_at"), f"{block.name} has no drop", 'write feeders_at = ["0.5 m", "4 m"]')
    length_m, most = block.length_m or 0.0, f"the most here is {MOST_DROPS}"
    if block.feeders is not None and block.feeders > MOST_DROPS:
        names.fault((*path, "feeders"), f"{block.name} has {block.feeders} drops; {most}", "write feeders = 3")
    elif len(block.feeders_at_m or ()) > MOST_DROPS:
        message = f"{block.name} has {len(block.feeders_at_m or ())} drops; {most}"
        names.fault((*path, "feeders_at"), message, "write fewer distances")
    if harness is None:
        return
    at: Path = ("harnesses", harness.name)
    spacing_m, own = harness.feeder_spacing_m, block.feeders or block.feeders_at_m
    if spacing_m and not own and length_m / spacing_m > MOST_DROPS:
        message = f"this gives {block.name} more than {MOST_DROPS} drops"
        names.fault((*at, "feeder_spacing"), message, 'write a spacing such as "2 m"')
    bus_m = length_m + ((harness.lead_m if block.lead_m is None else block.lead_m) or 0.0)
    if harness.segment_m and bus_m / harness.segment_m > MOST_JOINTS:
        message = f"this gives the bus of {block.name} more than {MOST_JOINTS} joints"
        names.fault((*at, "segment"), message, 'write a length such as "1.2 m"')
