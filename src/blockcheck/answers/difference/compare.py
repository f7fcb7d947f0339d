"""What a change to a layout does: to the wiring, to what is found, to the budgets; and what that means at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from attrs import asdict, evolve, frozen

from blockcheck.analysis.difference.renames import renames
from blockcheck.analysis.difference.rewiring import Step
from blockcheck.analysis.difference.steps import steps
from blockcheck.analysis.difference.tables import Change, changes
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.checking.check import check
from blockcheck.answers.columns import table
from blockcheck.answers.difference.changes import (
    BudgetChange,
    CheckChanges,
    FindingChange,
    FindingChanges,
    LabelChange,
    ValueChange,
    budgets,
    findings,
    labels,
    unchecked,
    values,
)
from blockcheck.answers.difference.retest import Retest, retests
from blockcheck.answers.document import CAUTION, Document, Findings, Lines, Says, Section, Todo
from blockcheck.answers.lacking import unchecked_lines
from blockcheck.answers.power import power
from blockcheck.answers.tables import Table
from blockcheck.core.columns import column
from blockcheck.core.natural import condensed
from blockcheck.core.words import listed, plural
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show

MARGIN = 0.02
"""Share by which a computed value must change to be told; common practice, no source."""
FIRST = "Switch every booster off, and pull its plug, before a wire is touched."
PANEL = (
    "A wire that is cut needs two more lengths to the panel and back; that way is not in the layout: give it a table "
    "[panels.NAME] with wire, from_board and to_bus, and it is counted and listed."
)
_TASKS = {
    "mount": "Boards, switches and boosters to mount",
    "lay": "Track to lay",
    "set": "Settings",
    "gap": "Rails to cut and to bridge",
    "run": "Feeds and common wires to add first",
    "move": "Wires to cut, join and move",
    "replace": "To make anew, or to another length",
    "add": "Wires and parts to add",
    "remove": "Wires to remove",
    "take away": "Parts and track to take away",
    "number": "Tell the computer",
}
_TESTS = {
    "gap": "Gaps",
    "frog": "Frogs",
    "short": "Short test, district by district",
    "volts": "Volts",
    "block": "Detection, block by block",
    "channel": "Channels that are free now",
    "isolator": "Switches",
}
_QUANTITIES = {
    "voltage": "volts",
    "short": "least short",
    "detection": "smallest vehicle",
    "false": "empty block",
}
_WIDEST = 32
"""Characters of the names in a table."""
_MANY = {"harness": "harnesses"}


@frozen
class CompareAnswer(Answer):
    """What a change does. Names are the new layout's; a name that is perhaps changed is told as ``renamed``."""

    command = "compare"

    old: str = column("Name of the layout as it is.")
    new: str = column("Name of the layout as it will be.")
    wiring_differs: bool = column(
        "Whether anything electrical is another: parts, wires, gaps, settings. --exit-code goes by it."
    )
    changes: tuple[Change, ...] = column("What the layouts say differently, defaults and ranges written out.")
    steps: tuple[Step, ...] = column("What to do, in this order.", key="bench")
    labels: tuple[LabelChange, ...] = column("Labels.")
    tests: tuple[Retest, ...] = column("Tests to repeat, in this order.")
    findings: FindingChanges = column("Findings that only one of the layouts has, by fingerprint.")
    unchecked: CheckChanges = column("Checks that are made for only one of the layouts.")
    budgets: tuple[BudgetChange, ...] = column(
        "Currents of every booster and district, as usual and in every scenario."
    )
    margin: float = column("Share by which a value must change to be told.")
    values: tuple[ValueChange, ...] = column(
        "Computed values at the worst place of a block that change by more than the margin, as usual."
    )
    imperial: bool = False

    @property
    def title(self) -> str:
        """What is compared."""
        return self.new if self.old == self.new else f"{self.old}, and {self.new}"

    @property
    def summary(self) -> str:
        """A few sentences: what comes and goes in the wiring, and what that does to the findings."""
        if not self.changes:
            return "No change to the wiring, and none to anything else that the layout says."
        return " ".join(_sentences(self))

    def document(self) -> Document:
        """What changes and what that does; then what to do, to label and to test; then what no wire is touched for."""
        ends = " > ".join
        steps = [
            {**asdict(one), "before": ends(one.before), "after": ends(one.after), "blocks": " ".join(one.blocks)}
            for one in self.steps
        ]
        parts = tuple(self._parts())
        tables = (evolve(one, title=part.title) for part in parts for one in part.parts if isinstance(one, Table))
        return Document(
            "What the change does",
            self.title,
            (Says((self.summary,)), *parts, Says((CAUTION,) if self.changes else (), "caution")),
            (
                table("At the bench", Step, steps, fields=("task", "what", "does", "before", "after", "blocks")),
                table("Tests", Retest, self.tests, fields=("kind", "subject", "do", "expect")),
                *tables,
            ),
        )

    def _parts(self) -> Iterator[Section]:
        wiring = _changes(self, True)
        if wiring.rows:
            yield _folded(wiring)
        yield from _effects(self)
        if self.steps:
            yield Section("At the bench", [Says([FIRST, *_notes(self)], "plain")])
        for task, heading in _TASKS.items():
            rows = [(one.what, one.does) for one in self.steps if one.task == task]
            if rows:
                yield Section(heading, [Todo(("what", "do"), rows)], 3, folds=True)
        for wanted, heading in ((True, "Labels to print"), (False, "Labels to take off")):
            pieces = list(_by_piece([one for one in self.labels if one.print is wanted]))
            if pieces:
                yield _folded(Table(heading, ("label", "at the other end, or where it sits"), pieces))
        if self.tests:
            yield Section("Tests to repeat", [Says(["In this order: each relies on the ones before it."], "plain")])
        tests: dict[tuple[str, str], list[tuple[str, str]]] = {}
        for one in self.tests:
            tests.setdefault((one.kind, one.do), []).append((one.subject, one.expect))
        for (kind, do), found in tests.items():
            lead = Says([f"{do[0].upper()}{do[1:]}."], "plain")
            yield Section(_TESTS[kind], [lead, Todo(("what", "expect"), found, named=True)], 3, folds=True)
        words = _changes(self, False)
        if words.rows:
            yield _folded(words)


def compare(old: Study, new: Study, today: date, margin: float = MARGIN) -> CompareAnswer:
    """What it takes, and what it does, to get from one layout to the other.

    Values that change by no more than ``margin``, a share, are not told. Raises InputError where a layout names a rule
    that does not exist.
    """
    names = renames(old.wiring, new.wiring)
    told = changes(old.wiring, new.wiring, names)
    found = steps(old, new, names, told)
    before, after = power(old), power(new)
    was, now = check(old, today), check(new, today)
    worth = tuple(values(before, after, names.of.get("blocks", {}), margin))
    rows = {row.block: row for row in after.rows}
    worse = [value.block for value in worth if value.quantity == "voltage" and value.worse]
    return CompareAnswer(
        old.layout.about.name,
        new.layout.about.name,
        wiring_differs=any(change.wiring for change in told),
        changes=told,
        steps=found,
        labels=labels(old, new),
        tests=retests(old, new, names, found, rows, worse),
        findings=findings(was, now, names.every),
        unchecked=unchecked(was, now, names.every),
        budgets=tuple(budgets(old, new, names.every)),
        margin=margin,
        values=worth,
        imperial=new.layout.about.units == "imperial",
    )


def _folded(found: Table, lead: str = "") -> Section:
    """A table under its own title."""
    return Section(found.title, [Says([lead] if lead else [], "plain"), evolve(found, title="")], folds=True)


def _sentences(answer: CompareAnswer) -> Iterator[str]:
    if not answer.wiring_differs:
        yield "No change to the wiring" + ("; labels change." if answer.labels else ".")
    for what, word in (("added", "New"), ("gone", "Gone"), ("renamed", "Perhaps renamed")):
        counts: dict[str, int] = {}
        for change in answer.changes:
            if change.what == what and (change.wiring or what == "renamed"):
                counts[change.kind] = counts.get(change.kind, 0) + 1
        if counts:
            words = [plural(count, kind, _MANY.get(kind)) for kind, count in counts.items()]
            yield f"{word}: {listed(words)}."
    changed: dict[str, list[str]] = {}
    for one in answer.changes:
        if one.what == "changed" and one.wiring:
            changed.setdefault(one.kind, []).append(one.subject)
    words = [
        f"{kind if len(set(names)) == 1 else _MANY.get(kind, f'{kind}s')} {_few(names)}"
        for kind, names in changed.items()
    ]
    if words:
        yield f"Changed: {'; '.join(words)}."
    appear, gone = len(answer.findings.appear), len(answer.findings.gone)
    if appear or gone:
        comes = f"{plural(appear, 'finding appears', 'findings appear')}" if appear else "No finding appears"
        yield f"{comes}, {gone or 'none'} {'go' if gone > 1 else 'goes'}."
    else:
        yield "No finding appears, and none goes."
    over = [f"{one.kind} {one.name}" for one in answer.budgets if one.over and not one.same]
    if over:
        yield f"OVER its limit: {listed(list(dict.fromkeys(over)))}."
    worse = condensed(one.block for one in answer.values if one.worse)
    if worse:
        yield f"Some computed values get worse, in {listed(worse)}."


def _effects(answer: CompareAnswer) -> Iterator[Section]:
    """What the change does to findings, currents and volts."""
    found, checks = answer.findings, answer.unchecked
    for heading, changed in (("Findings that appear", found.appear), ("Findings that go", found.gone)):
        if changed:
            yield Section(heading, [Findings([(one.finding, _remark(one)) for one in changed])])
    for heading, lacking in (("No longer checked", checks.appear), ("Checked from now on", checks.gone)):
        if lacking:
            yield Section(heading, [Lines("", unchecked_lines(lacking))])
    loads = _budgets(answer)
    if loads.rows:
        yield _folded(loads)
    for worse, word in ((True, "Worse"), (False, "Better")):
        changing = _values(answer, worse, f"{word} by more than {answer.margin * 100:g} %")
        if changing.rows:
            yield _folded(changing, "At the worst place of the block, as the layout usually stands.")


def _remark(one: FindingChange) -> str:
    return "" if one.because is None else f"the other layout accepts it: {one.because}"


def _changes(answer: CompareAnswer, wiring: bool) -> Table:
    """The changes as rows, those that say the same of several things on one."""
    together: dict[tuple[str, str, str | None, str | None, str | None], list[str]] = {}
    for one in answer.changes:
        if one.wiring is wiring:
            together.setdefault((one.kind, one.what, one.key, one.before, one.after), []).append(one.subject)
    rows = [
        (kind, _few(names), _said(what, key, before, after))
        for (kind, what, key, before, after), names in together.items()
    ]
    heading = "What changes in the wiring" if wiring else "What else is said differently"
    return Table(heading, ("what", "name", "change"), rows)


def _said(what: str, key: str | None, before: str | None, after: str | None) -> str:
    if what == "renamed":
        return f"perhaps renamed: it was {before}"
    if what == "changed":
        return f"{str(key).replace('_', ' ')}: {before or 'none'} -> {after or 'none'}"
    told = after if what == "added" else before
    return ("new" if what == "added" else "gone") + (f": {told}" if told else "")


def _few(names: Sequence[str]) -> str:
    """Names, as many as a column of a table bears; each stands among the things to do."""
    short = condensed(names)
    kept = list(short[:1])
    for name in short[1:]:
        if len(", ".join((*kept, name))) > _WIDEST:
            return f"{', '.join(kept)} and {len(short) - len(kept)} more"
        kept.append(name)
    return ", ".join(kept)


def _notes(answer: CompareAnswer) -> Iterator[str]:
    """What to mind where a terminal changes hands, and where a wire that is there already gets a switch."""
    left = {one.before[0] for one in answer.steps if one.wire == "bus" and one.before[:1] not in ((), one.after[:1])}
    put_on = [one for one in answer.steps if one.wire == "bus" and one.after[:1] not in ((), one.before[:1])]
    handed = condensed(one.after[0] for one in put_on if one.after[0] in left)
    if handed:
        gets = "gets another wire" if len(handed) == 1 and "-" not in handed[0] else "get other wires"
        yield f"{listed(handed)} {gets}: take all ends off, and mark them, before one is put on."
    if any(one.task in ("move", "replace") and len(one.after) > len(one.before) > 0 for one in answer.steps):
        yield PANEL


def _budgets(answer: CompareAnswer) -> Table:
    rows = [
        (
            one.scenario or "as usual",
            one.kind,
            one.name,
            _amps(one.before_a, one.bound),
            _amps(one.after_a, one.bound),
            _limit_of(one),
            "-" if one.after_a is None else "OVER" if one.over else "fits",
        )
        for one in answer.budgets
        if not one.same
    ]
    return Table("Budgets", ("scenario", "what", "name", "before", "after", "may carry", "then"), rows)


def _by_piece(labels: Sequence[LabelChange]) -> Iterator[tuple[str, str]]:
    """A row a piece of wire, with the labels of both its ends; other labels with where they sit."""
    left = list(reversed(labels))
    while left:
        one = left.pop()
        here, sign, there = one.text.partition(" > ")
        other, _, back = left[-1].text.partition(" > ") if left else ("", "", "")
        if sign and back and other.endswith(there) and here.endswith(back):  # a wire of a run begins with its mark
            yield one.text, left.pop().text
        else:
            yield one.text, one.at


def _amps(value: float | None, bound: bool = False) -> str:
    return "-" if value is None else ("at least " if bound else "") + show(value, DIMENSIONS[Amperes])


def _limit_of(one: BudgetChange) -> str:
    before, after = _amps(one.limit_before_a), _amps(one.limit_after_a)
    return after if None in (one.limit_before_a, one.limit_after_a) or before == after else f"{after} (was {before})"


def _values(answer: CompareAnswer, worse: bool, heading: str) -> Table:
    """Rows, those that say the same of several blocks on one."""
    together: dict[tuple[str, ...], list[str]] = {}
    for one in answer.values:
        if one.worse is worse:
            at = "-" if one.at_m is None else show(one.at_m, DIMENSIONS[Metres], answer.imperial)
            at = "near end" if one.at_m == 0 else at
            bound = " (a bound)" if one.bound else ""
            before, after = _amount(one, one.before), _amount(one, one.after) + bound
            key = (_QUANTITIES[one.quantity], before, after, at, _limit(one))
            together.setdefault(key, []).append(one.block)
    rows = [(_few(blocks), *key) for key, blocks in together.items()]
    return Table(heading, ("block", "value", "before", "after", "at", "limit"), rows)


def _amount(one: ValueChange, value: float | None) -> str:
    return "not computed" if value is None else show(value, DIMENSIONS[Volts if one.unit == "V" else Amperes])


def _limit(one: ValueChange) -> str:
    if one.limit is None:
        return "-"
    words = {"voltage": "at least", "short": "trips at", "detection": "reads from", "false": "reads from"}
    return f"{words[one.quantity]} {_amount(one, one.limit)}"
