"""Which parts differ between two layouts, by name."""

from __future__ import annotations

from blockcheck.model.layout import Layout


def changed_names(old: Layout, new: Layout) -> set[str]:
    """The blocks, isolators, turnouts, boards and districts whose wiring differs between two layouts."""
    found: set[str] = set()
    for table in ("blocks", "isolators", "turnouts", "boards", "districts"):
        before, after = getattr(old, table), getattr(new, table)
        found |= {name for name in {*before, *after} if repr(before.get(name)) != repr(after.get(name))}
    for table, key in (("harnesses", "harness"),):
        before, after = getattr(old, table), getattr(new, table)
        other = {name for name in {*before, *after} if repr(before.get(name)) != repr(after.get(name))}
        wires = {name for name in {*old.wires, *new.wires} if repr(old.wires.get(name)) != repr(new.wires.get(name))}
        other |= {name for name, one in after.items() if {one.bus, one.common, one.feeder} & wires}
        found |= {name for name, block in new.blocks.items() if getattr(block, key) in other}
    met = [{(frozenset(one.blocks), one.gap, one.ends) for one in layout.joints} for layout in (old, new)]
    for blocks, *_ in met[0] ^ met[1]:
        found |= blocks
    kinds = {
        one
        for one in {*old.board_types, *new.board_types}
        if repr(old.board_types.get(one)) != repr(new.board_types.get(one))
    }
    boards = found | {name for name, one in new.boards.items() if one.type in kinds}
    found |= {name for name, one in new.blocks.items() if one.channel is not None and one.channel.board in boards}
    found |= {
        name
        for name, one in new.isolators.items()
        if any(
            pole.isolator == name and block.name in found for block in new.blocks.values() for pole in block.isolated_by
        )
    }
    return found
