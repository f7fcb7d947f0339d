"""What to do at the bench to get from one layout to the other: parts, wires, gaps, and the labels at the ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import evolve

from blockcheck.analysis.difference.gaps import Gap, gaps
from blockcheck.analysis.difference.renames import Renames
from blockcheck.analysis.difference.rewiring import Lengths, Step, rewiring
from blockcheck.analysis.difference.tables import Change
from blockcheck.analysis.study import Study
from blockcheck.core.natural import natural_key
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, show
from blockcheck.model.wiring import Wiring, bank_count

TASKS = ("mount", "lay", "set", "gap", "run", "move", "replace", "add", "remove", "take away", "number")
"""What there is to do, in the order in which it is done: what is new stands ready before a wire is moved to it, what a
terminal had is off before something else is put on, and what is left over goes last."""


def steps(old: Study, new: Study, names: Renames, told: Iterable[Change]) -> tuple[Step, ...]:
    """All there is to do, in the order of doing it. ``told`` is what the layouts say differently."""
    of_names = names.of.get("blocks", {})
    imperial = new.layout.about.units == "imperial"

    def length(metres: float) -> str:
        return show(metres, DIMENSIONS[Metres], imperial)

    found = [
        *_parts(old.wiring, new.wiring, told, length),
        *rewiring(old, new, names, length),
        *_gaps(old.wiring, new.wiring, names),
        *_numbers(old.wiring, new.wiring, names),
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
        yield from _districts(new, name, many) if kind == "district" else _other(new, kind, name, many)


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
        if layout.districts[name].has_breaker and come:
            yield _breaker(wiring, name)
        elif layout.districts[name].has_breaker:
            yield Step(task, name, f"take out the breaker of {name}")
    elif change.kind == "block":
        metres = layout.blocks[name].length_m
        told = f", {length(metres)}" if metres is not None else ""
        yield Step("lay" if come else "take away", name, f"{'lay' if come else 'lift'} {name}{told}", blocks=(name,))


def _breaker(wiring: Wiring, name: str) -> Step:
    """A district's own breaker that is fitted."""
    own = wiring.layout.districts[name]
    trip = f" that trips at {show(own.trip_a, DIMENSIONS[Amperes])}" if own.trip_a is not None else ""
    what = f": {own.breaker}" if own.breaker is not None else ""
    return Step("mount", name, f"fit the breaker of {name}{trip}{what}", blocks=_home(wiring, name))


def _home(wiring: Wiring, district: str) -> tuple[str, ...]:
    return tuple(one for one, fed in wiring.fed.items() if fed.district == district)


def _districts(new: Wiring, name: str, many: list[Change]) -> Iterator[Step]:
    """A breaker that an old district gets, loses, or has of another kind; else what is set otherwise."""
    fitted = next((one for one in many if one.key == "breaker"), None)
    if fitted is None or (fitted.before and fitted.after):
        yield from _other(new, "district", name, many)
    elif fitted.before is None:
        yield _breaker(new, name)
    else:
        yield Step("take away", name, f"take out the breaker of {name}", blocks=_home(new, name))


_SETTINGS: Mapping[str, tuple[str, ...]] = {
    "booster": ("voltage", "current", "trip", "delay", "resistance"),
    "district": ("breaker", "current", "trip", "delay"),
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
        blocks = _home(new, name)
        task = "replace" if any(one.key == "breaker" for one in mine) else "set"
        does = f"breaker of {name}: {said.removeprefix('breaker ')}"
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
