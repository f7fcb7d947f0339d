"""What is done to the wires to get from one layout to the other: the difference of their two lists, in sentences."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from attrs import frozen

from blockcheck.analysis.difference.laid import ARROW, KINDS, SHARED, Laid, laid
from blockcheck.analysis.difference.renames import Renames
from blockcheck.analysis.study import Study
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed

Lengths = Callable[[float], str]
"""Metres -> a length as the layout's people read it."""


TASKS = ("mount", "lay", "set", "gap", "run", "move", "replace", "add", "remove", "take away", "number")
"""The kinds of work, in the order in which it is done."""


@frozen
class Step:
    """One thing to do. ``does`` is the sentence; ``before`` and ``after`` are the ends that a wire passes.

    ``blocks`` are those that it touches, by the new layout's names, or the old one's where they are gone.
    """

    task: str = column("Kind of work.", choices=TASKS)
    what: str = column("Part, wire, joint or block.")
    does: str = column("What to do, as a sentence.", key="do", title="do")
    before: tuple[str, ...] = column(
        "Ends that the wire passes, in the order of the current; none where it is new or no wire.", default=()
    )
    after: tuple[str, ...] = column("Ends that it will pass.", default=())
    blocks: tuple[str, ...] = column("Blocks that it touches.", default=())
    wire: str | None = column("Kind of wire; null where it is none.", choices=KINDS, default=None)


def rewiring(old: Study, new: Study, names: Renames, length: Lengths) -> Iterator[Step]:
    """Every wire that comes, goes or is another, from the booster outwards."""
    said, renamed = laid(old), laid(old, names)
    before, after = {one.key: one for one in renamed}, {one.key: one for one in laid(new)}
    own = {one.key: as_said for one, as_said in zip(renamed, said, strict=True)}
    for key in sorted({*before, *after}, key=lambda key: (KINDS.index(key[0]), *map(natural_key, key[1:]))):
        was, now = before.get(key), after.get(key)
        if was is None and now is not None:
            yield _added(now, length)
        elif now is None:
            yield _removed(own[key])
        elif was is not None and was != now:
            yield from _other(own[key], was, now, length)


def _added(wire: Laid, length: Lengths) -> Step:
    if wire.kind == "hold":
        does = f"fit a hold resistor of {wire.made and wire.made.words} across {listed(wire.ends)}"
    elif wire.kind == "across":
        does = f"fit {wire.made and wire.made.words} across {wire.way}, at the far end"
    elif wire.kind == "frog":
        does = f"wire the {wire.name}: {_legs(wire)}"
    elif wire.kind == "drops":
        does = f"add {_drops(wire, length)}"
    else:
        does = f"add the {wire.name}: {wire.way}{_stuff(wire, length)}"
    task = "run" if wire.kind in SHARED else "add"
    return Step(task, wire.name, does, (), wire.ends, wire.blocks, wire.kind)


def _removed(wire: Laid) -> Step:
    if wire.kind == "hold":
        does = f"take the hold resistor off {listed(wire.ends)}"
    elif wire.kind == "across":
        does = f"take {wire.made and wire.made.words} off {wire.way}"
    elif wire.kind == "frog":
        does = f"remove the wires of the {wire.name}"
    elif wire.kind == "drops":
        does = f"remove the {wire.name} ({len(wire.at_m)} to each rail)"
    else:
        does = f"remove the {wire.name}: {wire.way}"
    return Step("remove", wire.name, does, wire.ends, (), wire.blocks, wire.kind)


def _legs(wire: Laid) -> str:
    """To what the contact of the points ties a frog."""
    through, diverging, frog = wire.ends
    turnout = frog.partition(":")[0]
    return f"{turnout}:through to {through}, {turnout}:diverging to {diverging}, {turnout}:out to the frog"


def _drops(wire: Laid, length: Lengths) -> str:
    """The drops of a block in words: how many to each rail, of what, and where."""
    count = len(wire.at_m)
    size = f" of {wire.made.words}" if wire.made else ""
    each = f", {length(wire.length_m)} each" if wire.length_m else ""
    drop = "1 drop" if count == 1 else f"{count} drops"
    return f"{drop} to each rail of {wire.key[1]}{size}{each}, {listed([*map(length, wire.at_m)])} from its near end"


def _stuff(wire: Laid, length: Lengths) -> str:
    """What a wire is made of: how many there are, conductor, colour and length."""
    told = [
        f"{wire.count} wires" if wire.count > 1 else None,
        wire.made.words if wire.made else None,
        wire.colour if wire.count == 1 else None,
        length(wire.length_m) if wire.length_m is not None else None,
    ]
    if wire.kind == "feed":
        told.append("both conductors")
    if wire.segment_m is not None and wire.length_m is not None and wire.segment_m < wire.length_m:
        told.append(f"joined at every {length(wire.segment_m)} of bench work")
    text = ", ".join(one for one in told if one)
    return f" ({text})" if text else ""


def _other(said: Laid, before: Laid, after: Laid, length: Lengths) -> Iterator[Step]:
    """What is done to something that both layouts have. ``said`` is the old one under its old names."""
    if after.kind == "drops":
        yield from _other_drops(said, before, after, length)
        return
    if after.kind in ("hold", "across"):
        words, was = after.made and after.made.words, before.made and before.made.words
        what = "the hold resistor" if after.kind == "hold" else "what lies"
        task, does = "replace", f"exchange {what} across {listed(after.ends)}: {words} (was {was})"
    elif after.kind == "frog":
        task, word = "move", "exchange" if before.ends[:2] == after.ends[1::-1] else "move"
        does = f"{after.name}: {word} the wires at the contact of the points: {_legs(after)}"
    else:
        task, does = _other_wire(said, before, after, length)
    yield Step(task, after.name, does, said.ends, after.ends, after.blocks, after.kind)


def _other_wire(said: Laid, before: Laid, after: Laid, length: Lengths) -> tuple[str, str]:
    """Which kind of work it is to make a wire another, and the sentence."""
    todo, task = list[str](), "move"
    moved = before.ends != after.ends
    todo.append(_ends(said.ends, before.ends, after.ends) if moved else after.way)
    if before.count != after.count:
        task = "replace"
        more = after.count - before.count
        todo.append(f"{'lay' if more > 0 else 'take away'} {abs(more)}, so that there are {after.count}")
    if before.made != after.made:
        task = "replace"
        was = before.made.words if before.made else "not told"
        todo.append(f"make it anew of {_stuff(after, length)[2:-1] or 'a conductor that is not told'}, was {was}")
    elif before.length_m != after.length_m:
        task = task if moved else "replace"
        todo.append(_longer(before.length_m, after.length_m, length))
    if before.segment_m != after.segment_m:
        todo.append(_joined(before.segment_m, after.segment_m, length))
    return task, f"{after.name}: {'; '.join(todo)}"


def _longer(before_m: float | None, after_m: float | None, length: Lengths) -> str:
    if before_m is None or after_m is None:
        told = "not given" if after_m is None else length(after_m)
        return f"its length is {told}, was {'not given' if before_m is None else length(before_m)}"
    word = "lengthen" if after_m > before_m else "shorten"
    return f"{word} it to {length(after_m)}, was {length(before_m)}"


def _joined(before_m: float | None, after_m: float | None, length: Lengths) -> str:
    now = "lay it in one piece" if after_m is None else f"join it at every {length(after_m)}"
    return f"{now}, was {'in one piece' if before_m is None else length(before_m)}"


def _ends(said: tuple[str, ...], before: tuple[str, ...], after: tuple[str, ...]) -> str:
    """How a wire comes to other ends: which end is moved, where it is cut or joined. Ends with the whole way."""
    does = []
    if before[0] != after[0]:
        does.append(f"move its end from {said[0]} to {after[0]}")
    was, now = before[1:-1], after[1:-1]
    if was != now:
        gone, come = [one for one in was if one not in now], [one for one in now if one not in was]
        if come and gone:
            does.append(f"move the ends at {' and '.join(gone)} to {' and '.join(come)}")
        elif come:
            does.append(f"cut it and bring both ends to {' and '.join(come)}")
        elif gone:
            does.append(f"take both ends off {' and '.join(gone)} and join them")
        else:
            does.append(f"pass {' and '.join(now)} in this order")
    if before[-1] != after[-1]:
        does.append(f"move its end from {said[-1]} to {after[-1]}")
    return f"{', '.join(does)}: {ARROW.join(after)} (was {ARROW.join(said)})"


def _other_drops(said: Laid, before: Laid, after: Laid, length: Lengths) -> Iterator[Step]:
    block = after.key[1]

    def step(task: str, does: str) -> Step:
        return Step(task, after.name, does, said.ends, after.ends, after.blocks, after.kind)

    if before.ends != after.ends:
        pairs = zip(("detected", "common"), said.ends, before.ends, after.ends, strict=True)
        for rail, own, was, now in pairs:
            if was != now:
                yield step("move", f"move the {rail} drops of {block} from {own} to {now}")
    come = [place for place in after.at_m if place not in before.at_m]
    gone = [place for place in before.at_m if place not in after.at_m]
    if come or gone:
        places = f"{listed([*map(length, after.at_m)])} from its near end"
        were = listed([*map(length, before.at_m)])
        if not gone:
            does = f"add a drop to each rail of {block} at {listed([*map(length, come)])} from its near end"
        elif not come:
            does = f"take off the drops of {block} at {listed([*map(length, gone)])} from its near end"
        elif len(before.at_m) == len(after.at_m):
            does = f"move the drops of {block} to {places} (were at {were})"
        else:
            does = f"place the drops of {block} anew, {len(after.at_m)} to each rail: {places} (were at {were})"
        yield step("move", does)
    if before.made != after.made or before.length_m != after.length_m:
        was = (before.made.words if before.made else "not told") + (
            f", {length(before.length_m)}" if before.length_m else ""
        )
        yield step("replace", f"drops of {block}: {_drops(after, length)}, was {was}")
