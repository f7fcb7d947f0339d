"""What two layouts say differently, table by table, with every default and every range written out.

Every key of every table is compared, but for those that say at the key why not, and each by what it is (`rows`). A
board's type, a wire and a rail are compared where they are used; one that nothing uses is a thing of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import frozen

from blockcheck.analysis.difference.gaps import Gap, gaps
from blockcheck.analysis.difference.renames import NONE, Renames
from blockcheck.analysis.difference.rows import Row, Side, Value
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.model.interlocks import says
from blockcheck.model.layout import SUBJECTS, Accept, Interlock
from blockcheck.model.wiring import Wiring

KINDS = (
    *("layout", "booster", "district", "board", "isolator", "block", "harness", "turnout", "run", "joint", "load"),
    *("interlock", "train", "scenario", "limits", "rules", "accept"),
)


@frozen
class Change:
    """One thing that is said differently.

    ``what`` is added, gone, renamed (perhaps) or changed; of a change, ``key`` is what changed. ``before`` and
    ``after`` are for people; None where it was not, or is not. ``wiring`` tells whether it concerns the wiring, and
    not only words, the trains or the ways of operating.
    """

    kind: str = column("Kind of thing.", choices=KINDS)
    subject: str = column("Its name in the new layout, or in the old one where it is gone.", key="name")
    what: str = column(
        "What happened to it; renamed is a guess by channel, isolator and joints.",
        choices=("added", "gone", "renamed", "changed"),
    )
    key: str | None = column("What of it changed; null where it is added, gone or renamed.")
    before: str | None = column("As it was; null where there was none.")
    after: str | None = column("As it will be; null where there is none.")
    wiring: bool = column("Whether it concerns the wiring.")


_ORDER = ("boosters", "districts", "boards", "isolators", "blocks", "harnesses", "turnouts")
"""The named tables that are told first; the others follow as the language has them."""
_HEAD: Mapping[str, tuple[str, ...]] = {
    "boosters": ("voltage", "current", "trip"),
    "districts": ("booster", "current", "trip"),
    "boards": ("channels", "banks"),
    "isolators": ("contact", "rating"),
    "blocks": ("channel", "isolator", "district", "length"),
    "harnesses": ("bus", "common", "lead"),
    "turnouts": ("block",),
    "runs": ("wire", "count", "length"),
    "loads": ("idle", "running"),
    "trains": ("vehicles", "at"),
    "scenarios": ("open",),
}
"""What a thing that is added or gone is described by; what stands in another table, by all that it says."""
_WHERE_USED = ("board_types", "wires", "rails")
"""Tables of things that are compared where they are used."""
_APART = ("layout", "joints", "interlocks", "limits", "rules", "accept")
"""Tables that are no named ones, and are told in their own way."""
_NOTHING = Value(None, None)


def _word(kind: str) -> str:
    """What one thing of a named table is called: ``harness`` of ``harnesses``."""
    return {"harnesses": "harness"}.get(kind, kind.removesuffix("s")).replace("_", " ")


def changes(old: Wiring, new: Wiring, names: Renames) -> tuple[Change, ...]:
    """All that is said differently: power first, then detection, track, vehicles and ways of operating."""
    return tuple(_changes(old, new, names))


def _changes(old: Wiring, new: Wiring, names: Renames) -> Iterator[Change]:
    imperial = new.layout.about.units == "imperial"
    was, now = Side(old, names, imperial), Side(new, NONE, imperial)
    yield from _rows("layout", new.layout.about.name, was.fields(old.layout.about), now.fields(new.layout.about))
    for kind in (*_ORDER, *(kind for kind in SUBJECTS if kind not in _ORDER)):
        yield from _named(kind, was, now)
        if kind == "turnouts":
            yield from _gaps(was, now)
            yield from _interlocks(was, now)
    apart = {*SUBJECTS, *_APART}
    yield from _rows(
        "layout", new.layout.about.name, was.fields(old.layout, but=apart), now.fields(new.layout, but=apart)
    )
    yield from _judging(was, now)


def _named(kind: str, was: Side, now: Side) -> Iterator[Change]:
    """The things of one named table, whatever they are called in the older layout."""
    word, before, after = _word(kind), was.table(kind), now.table(kind)
    renamed = was.names.of.get(kind, {})
    back = {new: old for old, new in renamed.items()}
    pairs = {was.names.new(kind, name): name for name in before}
    for name in sorted({*after, *pairs}, key=natural_key):
        one, two = before.get(pairs.get(name, "")), after.get(name)
        used = pairs.get(name) in was.used(kind) or name in now.used(kind)
        if used and kind in _WHERE_USED:
            continue
        wiring = used and _wired(kind, two or one or {})
        if two is None:
            yield Change(word, pairs[name], "gone", None, _head(kind, one or {}), None, wiring)
        elif one is None:
            yield Change(word, name, "added", None, None, _head(kind, two), wiring)
        else:
            if name in back:
                yield Change(word, name, "renamed", None, back[name], name, False)
            yield from _rows(word, name, one, two, used)


def _rows(word: str, name: str, before: Row, after: Row, used: bool = True) -> Iterator[Change]:
    for key in dict.fromkeys((*before, *after)):
        one, two = before.get(key, _NOTHING), after.get(key, _NOTHING)
        if one.is_ != two.is_:
            first, second = one.text, two.text
            if first == second:
                first, second = one.exact or first, two.exact or second
            yield Change(word, name, "changed", key, first, second, used and (one.wiring or two.wiring))


def _head(kind: str, row: Row) -> str | None:
    told = [f"{key} {row[key].text}" for key in _HEAD.get(kind, tuple(row)) if key in row and row[key].text is not None]
    return ", ".join(told) or None


def _wired(kind: str, row: Row) -> bool:
    """Whether there is wiring in a thing at all."""
    return row["frog"].is_ == "switched" if kind == "turnouts" else any(value.wiring for value in row.values())


def _gaps(was: Side, now: Side) -> Iterator[Change]:
    before, after = gaps(was.wiring, was.names), gaps(now.wiring)
    for key in sorted({*before, *after}, key=lambda key: [natural_key(part) for part in key]):
        one, two = before.get(key), after.get(key)
        told = two or one
        assert told is not None
        subject = f"{told.first} ({told.first_end}) / {told.second} ({told.second_end})"
        if one is None or two is None:
            what = "added" if one is None else "gone"
            yield Change("joint", subject, what, None, _cut(one), _cut(two), True)
        else:
            yield from _rows("joint", subject, _joint(was, one), _joint(now, two))


def _cut(gap: Gap | None) -> str | None:
    return None if gap is None else f"gap {gap.cut}"


def _joint(side: Side, gap: Gap) -> Row:
    """What is said of a joint besides which ends meet there."""
    return side.fields(gap.joint, but=("blocks", "ends"))


def _interlocks(was: Side, now: Side) -> Iterator[Change]:
    """What interlocks keep out: one that keeps out something else is another one."""
    old, new = ({_kept_out(one, side.names): one for one in side.layout.interlocks} for side in (was, now))
    for key in dict.fromkeys((*old, *new)):
        one, two = old.get(key), new.get(key)
        if one is None or two is None:
            before, after = (says(it) if it is not None else None for it in (one, two))
            what = "added" if one is None else "gone"
            yield Change("interlock", " ".join(key[1]), what, None, before, after, True)
        else:
            yield from _rows("interlock", " ".join(key[1]), _reason(was, one), _reason(now, two))


def _kept_out(one: Interlock, names: Renames) -> tuple[str | None, tuple[str, ...], tuple[str, ...]]:
    """A position that is had at most once, or none; the controls, by their new names; what never holds."""
    controls = tuple(names.new("isolators", name) for name in (*one.controls, *one.never))
    return one.at_most_one, controls, tuple(one.never.values())


def _reason(side: Side, one: Interlock) -> Row:
    return side.fields(one, but=("controls", "at_most_one", "never"))


def _judging(was: Side, now: Side) -> Iterator[Change]:
    """Limits, severities of rules, and what is accepted: they change what is said, not what is wired."""
    old, new = was.layout, now.layout
    before, after = was.fields(old.limits, wiring=False), now.fields(new.limits, wiring=False)
    for limits, of in ((before, old), (after, new)):
        least = of.least_voltage_v
        limits["minimum_voltage"] = Value(least, None if least is None else f"{least:g} V")
    yield from _rows("limits", "limits", before, after)
    plain, fresh = ({rule: Value(level, level) for rule, level in one.rules.items()} for one in (old, new))
    yield from _rows("rules", "rules", plain, fresh)
    accepts, anew = ({(one.rule, str(one.where)): one for one in of.accept} for of in (old, new))
    for key in sorted({*accepts, *anew}):
        one, two = accepts.get(key), anew.get(key)
        name = " ".join(key)
        if one is None or two is None:
            what = "added" if one is None else "gone"
            yield Change("accept", name, what, None, _because(one), _because(two), False)
        else:
            yield from _rows("accept", name, was.fields(one, wiring=False), now.fields(two, wiring=False))


def _because(accept: Accept | None) -> str | None:
    return None if accept is None else accept.because
