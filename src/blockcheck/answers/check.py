"""Is it right? The rules' report with every path turned into a place."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import attrs
from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Accepted, Finding, Label, Severity, Unchecked, order
from blockcheck.core.spans import Path, Place
from blockcheck.model.layout import SUBJECTS
from blockcheck.rules import run
from blockcheck.text.document import Document


@frozen
class CheckAnswer:
    """Findings, each at its place, worst first; what was not checked, and what was accepted.

    ``understood`` is False where the input could not be read; the findings then say why.
    """

    layout: str | None
    findings: tuple[Finding, ...] = ()
    unchecked: tuple[Unchecked, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    understood: bool = True

    def count(self, severity: Severity) -> int:
        """How many findings have a severity."""
        return sum(finding.severity is severity for finding in self.findings)

    def fails(self, fail_on: Severity | None) -> bool:
        """Whether any finding is at or above a severity; None never fails."""
        return fail_on is not None and any(finding.severity.rank <= fail_on.rank for finding in self.findings)


def check(case: Case, today: date) -> CheckAnswer:
    """Apply all rules to a case. Raises InputError where the layout names a rule that does not exist."""
    report = run(case, today)
    document = case.wiring.document
    return CheckAnswer(
        case.layout.about.name,
        tuple(located(finding, document) for finding in report.findings),
        report.unchecked,
        tuple(attrs.evolve(one, finding=located(one.finding, document)) for one in report.accepted),
    )


def refused(findings: Iterable[Finding]) -> CheckAnswer:
    """The answer for input that could not be understood."""
    return CheckAnswer(None, tuple(findings), understood=False)


def joined(answers: Iterable[CheckAnswer]) -> CheckAnswer:
    """The answers for several layouts as one."""
    many = list(answers)
    if len(many) == 1:
        return many[0]
    names = [answer.layout for answer in many if answer.layout is not None]
    return CheckAnswer(
        ", ".join(names) or None,
        tuple(sorted((finding for answer in many for finding in answer.findings), key=order)),
        tuple(dict.fromkeys(one for answer in many for one in answer.unchecked)),
        tuple(one for answer in many for one in answer.accepted),
        all(answer.understood for answer in many),
    )


def located(finding: Finding, document: Document) -> Finding:
    """A finding with its paths turned into places."""

    def place(at: Path | Place) -> Place:
        if isinstance(at, Place):
            return at
        return document.place(at, key=len(at) == 2 and at[0] in SUBJECTS)  # a thing is pointed at by its name

    related = tuple(Label(place(label.at), label.message) for label in finding.related)
    return attrs.evolve(finding, at=place(finding.at), related=related)
