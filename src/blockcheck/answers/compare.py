"""What a change to a layout does: to the wiring, to what is found, to the budgets; and what that means at the bench."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from attrs import frozen

from blockcheck.analysis.difference.renames import Names, renames
from blockcheck.analysis.difference.rewiring import Step
from blockcheck.analysis.difference.steps import steps
from blockcheck.analysis.difference.tables import Change, changes
from blockcheck.analysis.power.budgets import Budget, Draw
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.check import CheckAnswer, check
from blockcheck.answers.pieces import end_labels
from blockcheck.answers.power import PowerAnswer, PowerRow, power
from blockcheck.answers.retest import Retest, retests
from blockcheck.core.findings import Finding, Unchecked
from blockcheck.core.natural import natural_key

MARGIN = 0.02
"""Share by which a computed value must change to be told; common practice, no source."""


@frozen
class FindingChange:
    """A finding that appears or goes. ``because`` is the reason, where the other layout accepts it."""

    finding: Finding
    because: str | None


@frozen
class BudgetChange:
    """A district's or booster's current in a way of operating (None: as usual), in amperes.

    None where one of the layouts has no such district, booster or scenario. ``limit`` likewise.
    """

    scenario: str | None
    kind: str
    name: str
    before_a: float | None
    after_a: float | None
    limit_before_a: float | None
    limit_after_a: float | None
    bound: bool = False
    """Whether what some vehicle draws is not known, and was taken as nothing."""

    @property
    def same(self) -> bool:
        """Whether neither the current nor its limit changes."""
        return (self.before_a, self.limit_before_a) == (self.after_a, self.limit_after_a)

    @property
    def over(self) -> bool:
        """Whether it is over its limit afterwards."""
        return self.after_a is not None and self.limit_after_a is not None and self.after_a > self.limit_after_a


@frozen
class ValueChange:
    """A computed value at the worst place of a block that changes by more than the margin, in volts or amperes.

    ``quantity`` is voltage, short, detection or false. ``at_m`` is the worst place afterwards, from the near end.
    None where it is not computed.
    """

    block: str
    quantity: str
    unit: str
    before: float | None
    after: float | None
    at_m: float | None
    limit: float | None
    worse: bool
    bound: bool = False
    """Whether it may be better than computed, since a neighbour was left out for want of data."""


@frozen
class LabelChange:
    """A label to print and stick on, or to take off, as the wire list has it; ``at`` is where it sits."""

    text: str
    at: str
    print: bool


@frozen
class CompareAnswer(Answer):
    """What a change does. Names are the new layout's; a name that is perhaps changed is told as ``renamed``."""

    command = "compare"

    old: str
    new: str
    imperial: bool
    margin: float
    changes: tuple[Change, ...]
    steps: tuple[Step, ...]
    labels: tuple[LabelChange, ...]
    tests: tuple[Retest, ...]
    appear: tuple[FindingChange, ...]
    gone: tuple[FindingChange, ...]
    unchecked_appear: tuple[Unchecked, ...]
    unchecked_gone: tuple[Unchecked, ...]
    budgets: tuple[BudgetChange, ...]
    values: tuple[ValueChange, ...]

    @property
    def wiring_differs(self) -> bool:
        """Whether anything electrical is another: parts, wires, gaps, settings of breakers."""
        return any(change.wiring for change in self.changes)


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
    values = tuple(_values(before, after, names.of.get("blocks", {}), margin))
    rows = {row.block: row for row in after.rows}
    worse = [value.block for value in values if value.quantity == "voltage" and value.worse]
    return CompareAnswer(
        old.layout.about.name,
        new.layout.about.name,
        new.layout.about.units == "imperial",
        margin,
        told,
        found,
        _labels(old, new),
        retests(old, new, names, found, rows, worse),
        *_findings(was, now, names.every),
        *_unchecked(was, now, names.every),
        tuple(_budgets(old, new, names.every)),
        values,
    )


def _print(finding: Finding, names: Names) -> tuple[str, ...]:
    """The fingerprint with the new layout's names."""
    return (finding.rule, *(_said(one, names) for one in (finding.subject, *finding.others)))


def _said(name: str, names: Names) -> str:
    """A name, a channel of a board or a pole of an isolator, by the new layout's names."""
    first, dot, rest = name.partition(".")
    return names.get(name) or f"{names.get(first, first)}{dot}{rest}"


def _findings(
    was: CheckAnswer, now: CheckAnswer, names: Names
) -> tuple[tuple[FindingChange, ...], tuple[FindingChange, ...]]:
    before, after = ({_print(one, names): one for one in was.findings}, {_print(one, {}): one for one in now.findings})
    accepted_before = {_print(one.finding, names): one.because for one in was.accepted}
    accepted_after = {_print(one.finding, {}): one.because for one in now.accepted}
    return (
        tuple(FindingChange(one, accepted_before.get(key)) for key, one in after.items() if key not in before),
        tuple(FindingChange(one, accepted_after.get(key)) for key, one in before.items() if key not in after),
    )


def _unchecked(was: CheckAnswer, now: CheckAnswer, names: Names) -> tuple[tuple[Unchecked, ...], tuple[Unchecked, ...]]:
    before = {(one.rule, _said(one.subject, names)): one for one in was.unchecked}
    after = {(one.rule, one.subject): one for one in now.unchecked}
    return (
        tuple(one for key, one in after.items() if key not in before),
        tuple(one for key, one in before.items() if key not in after),
    )


def _draws(study: Study, names: Names) -> dict[tuple[str | None, str, str], Draw]:
    found: dict[tuple[str | None, str, str], Draw] = {}
    for operation in study.operations:
        budget = Budget.of(study, operation)
        for draw in (*budget.boosters(), *budget.districts()):
            found[operation.scenario, draw.kind, names.get(draw.name, draw.name)] = draw
    return found


def _budgets(old: Study, new: Study, names: Names) -> Iterator[BudgetChange]:
    before, after = _draws(old, names), _draws(new, {})
    keys = sorted(
        {*before, *after}, key=lambda key: (key[0] is not None, natural_key(key[0] or ""), key[1], natural_key(key[2]))
    )
    for key in keys:
        was, now = before.get(key), after.get(key)
        yield BudgetChange(
            *key,
            settled(was.current_a) if was else None,
            settled(now.current_a) if now else None,
            was.limit_a if was else None,
            now.limit_a if now else None,
            any(draw is not None and draw.needs for draw in (was, now)),
        )


def _values(before: PowerAnswer, after: PowerAnswer, names: Names, margin: float) -> Iterator[ValueChange]:
    was = {names.get(row.block, row.block): row for row in before.rows}
    for row in after.rows:
        if row.block in was:
            yield from _row(was[row.block], row, margin)


def _row(was: PowerRow, now: PowerRow, margin: float) -> Iterator[ValueChange]:
    """Volts, shorts and detection get worse as they fall, the current of an empty block as it rises."""
    bound = was.bound or now.bound
    for quantity, unit, before, after, at_m, limit, falls in (
        ("voltage", "V", was.voltage_v, now.voltage_v, now.voltage_at_m, now.voltage_limit_v, True),
        ("short", "A", was.short_a, now.short_a, now.short_at_m, now.trip_a, True),
        ("detection", "A", was.detection_a, now.detection_a, now.detection_at_m, now.threshold_a, True),
        ("false", "A", was.false_a, now.false_a, None, now.threshold_a, False),
    ):
        if before is None or after is None:
            if before is not after:
                yield ValueChange(now.block, quantity, unit, before, after, at_m, limit, after is None, bound)
        elif abs(after - before) > margin * max(abs(before), abs(after)):
            yield ValueChange(now.block, quantity, unit, before, after, at_m, limit, (after < before) is falls, bound)


def _labels(old: Study, new: Study) -> tuple[LabelChange, ...]:
    """Labels to print and to take off: each piece of wire has one at each end, each switch one on the panel."""
    before, after = (dict.fromkeys((*end_labels(study), *_legends(study))) for study in (old, new))
    come = [LabelChange(text, at, True) for text, at in after if (text, at) not in before]
    gone = [LabelChange(text, at, False) for text, at in before if (text, at) not in after]
    return (*come, *gone)


def _legends(study: Study) -> Iterator[tuple[str, str]]:
    """What stands beside each switch on the panel."""
    for name in sorted(study.layout.isolators, key=natural_key):
        panel = study.layout.isolators[name].panel
        meant = ", ".join(study.wiring.meant[name]) or "nothing"
        yield f"{name}: {meant}", "panel" if panel is None else f"panel: {panel}"
