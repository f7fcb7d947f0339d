"""What to do at the bench to get from one layout to the other: parts, wires, gaps, and the labels at the ends."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from attrs import evolve, frozen

from blockcheck.analysis.difference.gaps import Gap, gaps
from blockcheck.analysis.difference.renames import Renames
from blockcheck.analysis.difference.tables import Change
from blockcheck.analysis.difference.wires import ARROW, KINDS, SHARED, Wire, wires
from blockcheck.core.natural import natural_key
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, show
from blockcheck.model.wiring import Wiring, bank_count

Lengths = Callable[[float], str]
"""Metres -> a length as the layout's people read it."""
TASKS = ("mount", "lay", "set", "gap", "run", "move", "replace", "add", "remove", "take away", "number")
"""What there is to do, in the order in which it is done: what is new stands ready before a wire is moved to it, what a
terminal had is off before something else is put on, and what is left over goes last."""


@frozen
class Step:
    """One thing to do. ``does`` is the sentence; ``before`` and ``after`` are the ends that a wire passes.

    ``blocks`` are those that it touches, by the new layout's names, or the old one's where they are gone.
    """

    task: str
    what: str
    does: str
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    blocks: tuple[str, ...] = ()
    wire: str | None = None
    """Kind of wire, where it is one."""


def steps(old: Wiring, new: Wiring, names: Renames, told: Iterable[Change]) -> tuple[Step, ...]:
    """All there is to do, in the order of doing it. ``told`` is what the layouts say differently."""
    of_names = names.of.get("blocks", {})
    imperial = new.layout.about.units == "imperial"

    def length(metres: float) -> str:
        return show(metres, DIMENSIONS[Metres], imperial)

    found = [
        *_parts(old, new, told, length),
        *_wires(old, new, names, length),
        *_gaps(old, new, names),
        *_numbers(old, new, names),
    ]
    by_new = [evolve(one, blocks=tuple(of_names.get(name, name) for name in one.blocks)) for one in found]
    return tuple(sorted(by_new, key=lambda one: TASKS.index(one.task)))


def _numbers(old: Wiring, new: Wiring, names: Renames) -> Iterator[Step]:
    """Blocks that report as another number than before."""
    before = {names.new("blocks", name): fed.address for name, fed in old.fed.items()}
    for name, fed in new.fed.items():
        if fed.address is not None and before.get(name) != fed.address:
            was = f", was {before[name]}" if before.get(name) is not None else ""
            yield Step("number", name, f"{name} reports as {fed.address}{was}", blocks=())


def _parts(old: Wiring, new: Wiring, told: Iterable[Change], length: Lengths) -> Iterator[Step]:
    """Boards, switches, boosters, breakers and track that come, go or are another."""
    changed: dict[tuple[str, str], list[Change]] = {}
    for change in told:
        if change.wiring and change.what in ("added", "gone"):
            where = new if change.what == "added" else old
            yield from _part(where, change, length)
        elif change.wiring and change.what == "changed":
            changed.setdefault((change.kind, change.subject), []).append(change)
    for (kind, name), many in changed.items():
        yield from _other(new, kind, name, many)


def _part(wiring: Wiring, change: Change, length: Lengths) -> Iterator[Step]:
    name, layout, come = change.subject, wiring.layout, change.what == "added"
    task = "mount" if come else "take away"
    if change.kind == "board":
        board = layout.boards[name]
        kind = layout.board_types.get(board.type)
        text = f"board {name}"
        if kind is not None:
            count = bank_count(kind)
            text += f", {kind.channels} channels" + (f" in {count} banks" if count > 1 else "")
        if board.at is not None:
            text += f": {board.at}"
        yield Step(task, name, f"{'mount' if come else 'take down'} {text}")
    elif change.kind == "isolator":
        isolator = layout.isolators[name]
        poles = f"{isolator.poles} poles" if isolator.poles > 1 else "1 pole"
        kinds = f"{isolator.contact}, {poles}"
        if isolator.rating_a is not None:
            kinds += f", for {show(isolator.rating_a, DIMENSIONS[Amperes])}"
        panel = f": {isolator.panel}" if isolator.panel is not None else ""
        does = f"mount switch {name} ({kinds}){panel}" if come else f"take switch {name} off the panel{panel}"
        yield Step(task, name, does, blocks=wiring.switched[name])
    elif change.kind == "booster":
        does = f"set up booster {name}: {change.after}" if come else f"take booster {name} away"
        yield Step(task, name, does)
    elif change.kind == "district":
        own = layout.districts[name]
        if own.trip_a is not None:
            trip = f" that trips at {show(own.trip_a, DIMENSIONS[Amperes])}"
            yield Step(task, name, f"{'fit' if come else 'take out'} the breaker of {name}{trip if come else ''}")
    elif change.kind == "block":
        metres = layout.blocks[name].length_m
        told = f", {length(metres)}" if metres is not None else ""
        yield Step("lay" if come else "take away", name, f"{'lay' if come else 'lift'} {name}{told}", blocks=(name,))


_SETTINGS: Mapping[str, tuple[str, ...]] = {
    "booster": ("voltage", "current", "trip", "delay", "resistance"),
    "district": ("current", "trip", "delay"),
    "isolator": ("contact", "poles", "rating", "contact_resistance", "centre_off", "between"),
    "board": ("channels", "threshold", "bank_size", "channel_current", "drop", "sensing"),
    "block": ("length",),
    "harness": ("rail", "joint_resistance", "capacitance", "leakage"),
    "turnout": ("frog", "frog_gaps"),
    "layout": ("control",),
}
"""What no wire tells: kind -> keys that are set, or are another part, when they change."""


def _other(new: Wiring, kind: str, name: str, many: list[Change]) -> Iterator[Step]:
    keys = _SETTINGS.get(kind, ())
    mine = [change for change in many if change.key in keys]
    if not mine:
        return
    said = "; ".join(
        f"{str(one.key).replace('_', ' ')} {one.after or 'not given'} (was {one.before or 'not given'})" for one in mine
    )
    blocks: tuple[str, ...] = ()
    task, does = "set", f"{kind} {name}: {said}"
    if kind == "isolator":
        task, does, blocks = "replace", f"switch {name} is another: {said}", new.switched[name]
    elif kind == "board":
        blocks = tuple(one for one, fed in new.fed.items() if fed.board is not None and fed.board.name == name)
        task, does = "replace", f"board {name} is another: {said}"
    elif kind == "district":
        blocks = tuple(one for one, fed in new.fed.items() if fed.district == name)
        does = f"breaker of {name}: {said}"
    elif kind == "booster":
        homes = [one.name for one in new.layout.districts.values() if one.booster == name]
        blocks = tuple(one for one, fed in new.fed.items() if fed.district in homes)
    elif kind == "block":
        task, does, blocks = "lay", f"track of {name}: {said}", (name,)
    elif kind == "harness":
        blocks = tuple(one for one, fed in new.fed.items() if fed.block.harness == name)
    elif kind == "turnout":
        blocks = (str(new.layout.turnouts[name].block),)
        task, does = "gap", f"turnout {name}: {said}"
    yield Step(task, name, does, blocks=blocks)


def _wires(old: Wiring, new: Wiring, names: Renames, length: Lengths) -> Iterator[Step]:
    said = {one.key: one for one in wires(old)}
    by_key = dict(zip((one.key for one in wires(old, names)), said.values(), strict=True))
    before, after = {one.key: one for one in wires(old, names)}, {one.key: one for one in wires(new)}
    for key in sorted({*before, *after}, key=lambda key: (KINDS.index(key[0]), *map(natural_key, key[1:]))):
        if key not in before:
            yield _new(after[key], length)
        elif key not in after:
            yield _old(by_key[key])
        elif before[key] != after[key]:
            yield from _touched(by_key[key], before[key], after[key], length)


def _new(wire: Wire, length: Lengths) -> Step:
    if wire.kind == "hold":
        return Step(
            "add",
            wire.name,
            f"fit a hold resistor of {wire.conductor} across the contact of {wire.ends[0]}",
            wire=wire.kind,
        )
    if wire.kind == "frog":
        does = f"wire the frog of {wire.key[1]} to the contact of its points; {wire.conductor}"
        return Step("add", wire.name, does, (), wire.ends, wire.blocks, wire.kind)
    if wire.kind == "drops":
        does = f"add {_drops(wire, length)}"
    else:
        does = f"add the {wire.name}: {wire.way}{_stuff(wire, length)}"
    task = "run" if wire.kind in SHARED else "add"
    return Step(task, wire.name, does, (), wire.ends, wire.blocks, wire.kind)


def _old(wire: Wire) -> Step:
    if wire.kind == "hold":
        does = f"take the hold resistor off {wire.ends[0]}"
    elif wire.kind == "drops":
        each = f" ({len(wire.at_m)} to each rail)" if wire.at_m else ""
        does = f"remove the {wire.name}{each}"
    else:
        does = f"remove the {wire.name}: {wire.way}"
    return Step("remove", wire.name, does, wire.ends, (), wire.blocks, wire.kind)


def _listed(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _drops(wire: Wire, length: Lengths) -> str:
    """The drops of a block in words: how many to each rail, of what, and where."""
    count = len(wire.at_m)
    if not count:
        return f"the drops to both rails of {wire.key[1]}"
    places = _listed(map(length, wire.at_m))
    size = f" of {wire.conductor}" if wire.conductor else ""
    each = f", {length(wire.length_m)} each" if wire.length_m else ""
    drop = "1 drop" if count == 1 else f"{count} drops"
    return f"{drop} to each rail of {wire.key[1]}{size}{each}, {places} from its near end"


def _stuff(wire: Wire, length: Lengths) -> str:
    """What a wire is made of: conductor, colour and length."""
    told = [wire.conductor, wire.colour, length(wire.length_m) if wire.length_m is not None else None]
    if wire.kind == "feed":
        told.append("both conductors")
    if wire.segment_m is not None and wire.length_m is not None and wire.segment_m < wire.length_m:
        told.append(f"joined at every {length(wire.segment_m)} of bench work")
    text = ", ".join(one for one in told if one)
    return f" ({text})" if text else ""


def _touched(said: Wire, before: Wire, after: Wire, length: Lengths) -> Iterator[Step]:
    """What is done to a wire that both layouts have. ``said`` is the old one under its old names."""
    if after.kind == "drops":
        yield from _other_drops(said, before, after, length)
        return
    if after.kind == "hold":
        does = f"exchange the hold resistor of {after.ends[0]}: {after.conductor} (was {before.conductor})"
        yield Step("replace", after.name, does, wire=after.kind)
        return
    if after.kind == "frog":
        does = f"exchange the ends at the points' contact of {after.key[1]}; {after.conductor} (was {before.conductor})"
        yield Step("move", after.name, does, said.ends, after.ends, after.blocks, after.kind)
        return
    todo, task = list[str](), "move"
    if before.ends != after.ends:
        todo.append(_ends(said.ends, before.ends, after.ends))
    else:
        todo.append(after.way)
    if before.ohm_per_m != after.ohm_per_m or (after.ohm_per_m is None and before.conductor != after.conductor):
        task = "replace"
        was = before.conductor or "not told"
        todo.append(f"make it anew of {_stuff(after, length)[2:-1] or 'a conductor that is not told'}, was {was}")
    elif before.length_m != after.length_m and before.length_m is not None and after.length_m is not None:
        task = task if before.ends != after.ends else "replace"
        word = "lengthen" if after.length_m > before.length_m else "shorten"
        todo.append(f"{word} it to {length(after.length_m)}, was {length(before.length_m)}")
    if before.segment_m != after.segment_m and before.segment_m is not None and after.segment_m is not None:
        todo.append(f"join it at every {length(after.segment_m)}, was {length(before.segment_m)}")
    if before.ends != after.ends or len(todo) > 1:
        todo[0] = f"{after.name}: {todo[0]}"
        yield Step(task, after.name, "; ".join(todo), said.ends, after.ends, after.blocks, after.kind)


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


def _other_drops(said: Wire, before: Wire, after: Wire, length: Lengths) -> Iterator[Step]:
    block = after.key[1]
    come = [place for place in after.at_m if place not in before.at_m]
    gone = [place for place in before.at_m if place not in after.at_m]
    if before.ends != after.ends and len(before.ends) == len(after.ends) == 3:
        does = f"move the common drops of {block} from {said.ends[1]} to {after.ends[1]}"
        yield Step("move", after.name, does, said.ends, after.ends, after.blocks, after.kind)
    if not before.at_m or not after.at_m:
        come = gone = []  # where they were, or are to be, is not told
    if come or gone:
        places = f"{_listed(map(length, after.at_m))} from its near end"
        if not gone:
            does = f"add a drop to each rail of {block} at {_listed(map(length, come))} from its near end"
        elif not come:
            does = f"take off the drops of {block} at {_listed(map(length, gone))} from its near end"
        elif len(before.at_m) == len(after.at_m):
            does = f"move the drops of {block} to {places} (were at {_listed(map(length, before.at_m))})"
        else:
            were = _listed(map(length, before.at_m))
            does = f"place the drops of {block} anew, {len(after.at_m)} to each rail: {places} (were at {were})"
        yield Step("move", after.name, does, before.ends, after.ends, after.blocks, after.kind)
    if before.ohm_per_m != after.ohm_per_m or before.length_m != after.length_m:
        yield Step(
            "replace",
            after.name,
            f"drops of {block}: {_drops(after, length)}, was {before.conductor}"
            f"{', ' + length(before.length_m) if before.length_m else ''}",
            before.ends,
            after.ends,
            after.blocks,
            after.kind,
        )


def _rails(cut: str) -> frozenset[str]:
    return frozenset({"both": ("detected", "common"), "none": ()}.get(cut, (cut,)))


def _gaps(old: Wiring, new: Wiring, names: Renames) -> Iterator[Step]:
    """Where rails are to be cut or bridged. Where track is new or gone it says how the rails meet."""
    before, after = gaps(old, names), gaps(new)
    by_old = dict(zip(before, gaps(old).values(), strict=True)) if not names.of.get("blocks") else before
    for key in sorted({*before, *after}, key=lambda key: [natural_key(part) for part in key]):
        was, now = before.get(key), after.get(key)
        if was is None and now is not None:
            cut = _said_rails(_rails(now.cut))
            does = f"cut the {cut} where {_meet(now)}" if cut else f"join both rails where {_meet(now)}"
            left = _said_rails(frozenset(("detected", "common")) - _rails(now.cut))
            yield _gap(now, does + (f"; the {left} runs through" if cut and left else ""))
        elif was is not None and now is None:
            told = by_old.get(key, was)
            yield _gap(told, f"part both rails where {_meet(told)}: they no longer meet")
        elif was is not None and now is not None and was.cut != now.cut:
            one, two = _rails(was.cut), _rails(now.cut)
            cuts = [f"cut the {_said_rails(two - one)}"] if two - one else []
            cuts += [f"bridge the {_said_rails(one - two)}"] if one - two else []
            yield _gap(now, f"{' and '.join(cuts)} where {_meet(now)}")


def _gap(gap: Gap, does: str) -> Step:
    return Step("gap", f"{gap.first} / {gap.second}", does, blocks=(gap.first, gap.second))


def _said_rails(rails: frozenset[str]) -> str:
    if len(rails) == 2:
        return "detected and common rails"
    return "".join(f"{rail} rail" for rail in rails)


def _meet(gap: Gap) -> str:
    return f"the {gap.first_end} end of {gap.first} meets the {gap.second_end} end of {gap.second}"
