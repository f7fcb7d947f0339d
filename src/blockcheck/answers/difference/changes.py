"""What differs between two layouts in findings, budgets, values and labels."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget, Draw
from blockcheck.analysis.difference.renames import Names
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.answers.power import PowerAnswer, PowerRow
from blockcheck.answers.workshop.pieces import end_labels
from blockcheck.core.columns import column
from blockcheck.core.findings import Finding, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Place


def _at(one: FindingChange) -> Place:
    assert isinstance(one.finding.at, Place)
    return one.finding.at


@frozen
class FindingChange:
    """A finding that appears or goes. ``because`` is the reason, where the other layout accepts it."""

    finding: Finding
    rule: str = column("Rule.", of=lambda one: one.finding.rule)
    severity: Literal["error", "warning", "note"] = column("Severity.", of=lambda one: one.finding.severity.value)
    subject: str = column("What it is about.", of=lambda one: one.finding.subject)
    with_: tuple[str, ...] = column("What else is part of it.", of=lambda one: one.finding.others)
    message: str = column("What is wrong.", of=lambda one: one.finding.message)
    help: str | None = column("How to mend it.", of=lambda one: one.finding.help)
    file: str = column("File, of the layout that has the finding.", of=lambda one: _at(one).file)
    line: int = column("Line, from 1.", of=lambda one: _at(one).line)
    column_: int = column("Column, from 1, in code points.", of=lambda one: _at(one).column)
    fingerprint: str = column(
        "Rule and names, by which the two layouts are compared.", of=lambda one: one.finding.fingerprint
    )
    because: str | None = column("The reason with which the other layout accepts it; null where it does not.")


@frozen
class FindingChanges:
    """The findings that only one of the layouts has, by fingerprint."""

    appear: tuple[FindingChange, ...] = column("Those of the new layout.")
    gone: tuple[FindingChange, ...] = column("Those of the old layout.")


@frozen
class CheckChanges:
    """The checks that are made for only one of the layouts."""

    appear: tuple[Unchecked, ...] = column("No longer made.")
    gone: tuple[Unchecked, ...] = column("Made from now on.")


@frozen
class BudgetChange:
    """A district's or booster's current in a way of operating (None: as usual), in amperes.

    None where one of the layouts has no such district, booster or scenario. ``limit`` likewise.
    """

    scenario: str | None = column("Scenario; null as usual.")
    kind: str = column("Kind.", choices=("booster", "district"))
    name: str = column("Its name.")
    before_a: float | None = column("Current before.")
    after_a: float | None = column("Current after.")
    limit_before_a: float | None = column("Most it might carry.")
    limit_after_a: float | None = column("Most it may carry.")
    bound: bool = column("Whether what some vehicle draws is not known, and was taken as nothing.", default=False)

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

    block: str = column("Block.")
    quantity: str = column(
        "Lowest voltage, least short-circuit current, current of the smallest vehicle, current of an empty block.",
        choices=("voltage", "short", "detection", "false"),
    )
    unit: str = column("Unit.", choices=("V", "A"))
    before: float | None = column("Value before; null where it was not computed.")
    after: float | None = column("Value after; null where it is not computed.")
    at_m: float | None = column("Worst place after, from the near end.")
    limit: float | None = column("Least voltage, trip current, or threshold of the detector, after.")
    worse: bool = column("Whether it is worse.")
    bound: bool = column(
        "Whether it may be better than computed, since a neighbour was left out for want of data.", default=False
    )


@frozen
class LabelChange:
    """A label to print and stick on, or to take off, as the wire list has it; ``at`` is where it sits."""

    text: str = column("What it says.")
    at: str = column("Where it sits: a terminal, or the panel.")
    print: bool = column("Whether to print it, else to take it off.")


def _print(finding: Finding, names: Names) -> tuple[str, ...]:
    """The fingerprint with the new layout's names."""
    return (finding.rule, *(_said(one, names) for one in (finding.subject, *finding.others)))


def _said(name: str, names: Names) -> str:
    """A name, a channel of a board or a pole of an isolator, by the new layout's names."""
    first, dot, rest = name.partition(".")
    return names.get(name) or f"{names.get(first, first)}{dot}{rest}"


def findings(was: CheckAnswer, now: CheckAnswer, names: Names) -> FindingChanges:
    before, after = ({_print(one, names): one for one in was.findings}, {_print(one, {}): one for one in now.findings})
    accepted_before = {_print(one.finding, names): one.because for one in was.accepted}
    accepted_after = {_print(one.finding, {}): one.because for one in now.accepted}
    return FindingChanges(
        tuple(FindingChange(one, because=accepted_before.get(key)) for key, one in after.items() if key not in before),
        tuple(FindingChange(one, because=accepted_after.get(key)) for key, one in before.items() if key not in after),
    )


def unchecked(was: CheckAnswer, now: CheckAnswer, names: Names) -> CheckChanges:
    before = {(one.rule, _said(one.subject, names)): one for one in was.unchecked}
    after = {(one.rule, one.subject): one for one in now.unchecked}
    return CheckChanges(
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


def budgets(old: Study, new: Study, names: Names) -> Iterator[BudgetChange]:
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


def values(before: PowerAnswer, after: PowerAnswer, names: Names, margin: float) -> Iterator[ValueChange]:
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


def labels(old: Study, new: Study) -> tuple[LabelChange, ...]:
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
