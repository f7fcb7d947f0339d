"""Applying the rules: severities, exceptions, causes before consequences, one sort."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

import attrs

from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.core.faults import Faults
from blockcheck.core.findings import Accepted, Claim, Finding, Milder, Off, Severity, Unchecked, order
from blockcheck.core.natural import condensed, natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path
from blockcheck.model.layout import SUBJECTS, Accept, Layout
from blockcheck.rules._registry import RULES
from blockcheck.rules._rule import Acceptance, Judged, Lacks, Rule, listed
from blockcheck.text.ranges import MOST_NAMES, RangeError, names_of


class Applied(NamedTuple):
    """One rule as it was applied: the study as the rule saw it, what it looked at, and the names that it found fault
    with or could not judge."""

    rule: str
    study: Study
    judged: tuple[str | None, ...]
    named: frozenset[str]

    def held(self) -> Iterator[tuple[str | None, bool]]:
        """The subjects that the rule judged and found nothing against, and whether nothing clouds that.

        A name that an earlier finding blames, or that this rule could not judge or lists beside a finding, is clouded:
        it was judged as if that were mended. None stands for the layout as one.
        """
        blamed = _blamed(self.study)
        for name in self.judged:
            if name is None and not self.named:
                yield None, True
            elif name is not None and name not in self.named:
                yield name, not {name, name.partition(".")[0]} & blamed


def _blamed(study: Study) -> frozenset[str]:
    names = {name for claim in study.claims for name in claim.names}
    names.update(str(step) for path in study.mended for step in path[1:] if path[0] != "joints")
    for path in study.mended:
        if path[0] == "joints" and isinstance(path[1], int):
            names.update(study.layout.joints[path[1]].blocks)
    return frozenset(names)


class Report(NamedTuple):
    """What the rules have to say of a study, sorted."""

    findings: tuple[Finding, ...]
    unchecked: tuple[Unchecked, ...]
    accepted: tuple[Accepted, ...]
    applied: tuple[Applied, ...]
    off: tuple[Off, ...]
    milder: tuple[Milder, ...]


def run(study: Study, today: date, rules: tuple[Rule, ...] = RULES) -> Report:
    """Apply the rules in order. ``today`` is what the dates of exceptions are held against.

    Raises InputError where the layout names a rule that does not exist.
    """
    _known_rules(study)
    accepts = _accepts(study, today)
    findings: list[Finding] = []
    unchecked: list[Unchecked] = []
    accepted: list[Accepted] = []
    applied: list[Applied] = []
    off: list[Off] = []
    milder: list[Milder] = []
    used: set[tuple[int, str]] = set()
    for rule in rules:
        severity = _severity(study, rule)
        if rule.check is not None:
            said = rule.check(study)
        else:
            assert rule.review is not None
            said = rule.review(tuple(_reviewed(study, used, today, findings)))
        raw, looked = list[Finding | Lacks](), dict[str | None, None]()
        for one in said:
            if isinstance(one, Judged):
                looked[one.subject] = None
            else:
                raw.append(one)
        if severity is None:  # it mends nothing, so that what follows from its findings is told
            off.append(Off(rule.name, len(list(_by_cause([one for one in raw if isinstance(one, Finding)])))))
            continue
        applied.append(Applied(rule.name, study, tuple(looked), frozenset(_named(raw))))
        causes: set[Path | Claim] = set()
        reported: list[Finding] = []
        for item in raw:
            if isinstance(item, Lacks):
                unchecked.append(Unchecked(rule.name, item.subject, item.needs))
                continue
            default = item.own or rule.severity
            own = severity if item.own is None or rule.name in study.layout.rules else item.own
            finding = attrs.evolve(
                item, rule=rule.name, severity=own, measured=_settled(item.measured), limit=_settled(item.limit)
            )
            exception = accepts.get((rule.name, finding.subject))
            if exception is not None:
                used.add((exception[0], finding.subject))
                accepted.append(Accepted(finding, exception[1].because))
                continue
            reported.append(finding)
            if own.rank <= default.rank:  # ranked down it mends nothing either: a note hides no error
                causes |= finding.causes
        told = list(_by_cause(reported))
        findings += told
        milder += _milder(study, rule, told)
        study = study.mending(frozenset(causes))
    return Report(
        tuple(sorted(findings, key=order)),
        tuple(sorted(set(unchecked), key=lambda one: (one.rule, natural_key(one.subject), one.needs))),
        tuple(sorted(accepted, key=lambda one: order(one.finding))),
        tuple(applied),
        tuple(off),
        tuple(milder),
    )


def _milder(study: Study, rule: Rule, told: list[Finding]) -> Iterator[Milder]:
    """Whether the layout ranks a rule below what it, or a finding of it, would be by itself."""
    if rule.name in study.layout.rules:
        given = Severity(study.layout.rules[rule.name])
        default = min((one.own or rule.severity for one in told), key=lambda one: one.rank, default=rule.severity)
        if default.rank < given.rank:
            many = sum((one.own or rule.severity).rank < given.rank for one in told)
            yield Milder(rule.name, given.value, default.value, many)


def _by_cause(reported: list[Finding]) -> Iterator[Finding]:
    """One finding for each cause: that of the subject that is worst off, which names the others."""
    groups: dict[object, list[Finding]] = {}
    for finding in reported:
        if finding.group is None:
            yield finding
        else:
            groups.setdefault(finding.group, []).append(finding)
    for alike in groups.values():
        worst = min(alike, key=lambda finding: settled(finding.margin))
        known = {worst.subject, *worst.others}
        also = tuple(_other(finding, known) for finding in alike if finding is not worst)
        edits = tuple(dict.fromkeys(edit for finding in alike for edit in finding.edits))
        message = worst.message + (f"; {worst.also} {listed(condensed(also))}" if also else "")
        yield attrs.evolve(worst, alike=also, message=message, edits=edits)


def _other(finding: Finding, known: set[str]) -> str:
    """The name by which a finding differs from one like it."""
    return next((name for name in (finding.subject, *finding.others) if name not in known), finding.subject)


def _named(raw: list[Finding | Lacks]) -> Iterator[str]:
    """The names that a rule says something about; of a channel or a pole also the board or the isolator."""
    for item in raw:
        names = (item.subject,) if isinstance(item, Lacks) else (item.subject, *item.others)
        for name in names:
            yield name
            yield name.partition(".")[0]


def _settled(value: float | None) -> float | None:
    return None if value is None else settled(value)


def _severity(study: Study, rule: Rule) -> Severity | None:
    level = study.layout.rules.get(rule.name, rule.severity.value)
    return None if level == "off" else Severity(level)


def _known_rules(study: Study) -> None:
    names = {rule.name for rule in RULES}
    faults = Faults()
    document = study.wiring.document
    for name in study.layout.rules:
        if name not in names:
            place = document.place(("rules", name), key=True)
            help_ = did_you_mean(name, names) or _all()
            faults.add(place, f"{shown(name)} is no rule", help_)
    for index, accept in enumerate(study.layout.accept):
        if accept.rule not in names:
            place = document.place(("accept", index, "rule"))
            help_ = did_you_mean(accept.rule, names) or _all()
            faults.add(place, f"{shown(accept.rule)} is no rule", help_)
        try:
            _where(accept)
        except RangeError as error:
            faults.add(document.place(("accept", index, "where")), error.message, error.help)
    faults.stop()


def _all() -> str:
    return '"blockcheck explain" lists the rules'


def _where(accept: Accept) -> tuple[str, ...]:
    names: list[str] = []
    for item in accept.where.split(","):
        names.extend(names_of(item.strip()) or (item.strip(),))
        if len(names) > MOST_NAMES:
            raise RangeError(f"this names more than {MOST_NAMES} parts", "write several exceptions")
    return tuple(names)


def _accepts(study: Study, today: date) -> dict[tuple[str, str], tuple[int, Accept]]:
    """Rule and subject -> the exception that counts for it today."""
    found: dict[tuple[str, str], tuple[int, Accept]] = {}
    for index, accept in enumerate(study.layout.accept):
        if accept.until is not None and accept.until < today:
            continue
        for name in _where(accept):
            found.setdefault((accept.rule, name), (index, accept))
    return found


def _reviewed(study: Study, used: set[tuple[int, str]], today: date, findings: list[Finding]) -> Iterator[Acceptance]:
    """The exceptions; one whose date has passed matches what it would accept still."""
    matched, told = {index for index, _ in used}, {(one.rule, one.subject) for one in findings}
    for index, accept in enumerate(study.layout.accept):
        if accept.rule in ("accept-unused", "accept-expired"):
            continue
        names = _where(accept)
        there = {name for name in names if (index, name) in used or _exists(study.layout, name)}
        yield Acceptance(
            ("accept", index),
            accept.rule,
            accept.where,
            accept.until,
            matched=index in matched or any((accept.rule, name) in told for name in names),
            expired=accept.until is not None and accept.until < today,
            known=tuple(name for name in names if name in there),
            unknown=tuple(name for name in names if name not in there),
        )


def _exists(layout: Layout, name: str) -> bool:
    """Whether anything bears a name: a table, a channel of a board, a pole of an isolator, one of a harness's wires."""
    first, _, number = name.partition(".")
    board, isolator = layout.boards.get(first), layout.isolators.get(first)
    kind = layout.board_types.get(board.type) if board is not None else None
    parts = max(kind.channels if kind is not None else 0, isolator.poles if isolator is not None else 0)
    of_a_part = number.isdecimal() and 1 <= int(number) <= parts
    names = (name, name.rpartition(" ")[0])
    return of_a_part or any(one in getattr(layout, table) for table in SUBJECTS for one in names)
