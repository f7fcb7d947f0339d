"""Is it right? The rules' report with every path turned into a place."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import attrs
from attrs import field, frozen

from blockcheck.analysis.power.defaults import laxer
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.basis import Basis, basis_of, together
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.findings import Accepted, Finding, Laxer, Milder, Off, Severity, Unchecked, order
from blockcheck.core.shown import shown
from blockcheck.rules import Applied, run
from blockcheck.rules._located import located

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing


@frozen
class Held:
    """A subject that a rule judged and found nothing against. ``subject`` is None for the layout as one.

    ``clear`` is False where an earlier finding is about it: it was judged as if that were mended.
    """

    rule: str
    subject: str | None
    clear: bool


@frozen
class CheckAnswer(Answer):
    """Findings, each at its place, worst first; and what may have kept others from being told.

    That is what was not checked, what the layout accepts, the rules that it switches ``off`` or ranks ``milder``, and
    its limits that are ``laxer`` than their defaults. ``basis`` is what the verdict rests on, None where there is none.

    ``understood`` is False where the input could not be read; the findings then say why. ``gone`` holds the
    fingerprints that an earlier answer had and this one has not; it is None where none was compared with. ``parts``
    are the answers for each layout, where there are several; ``sources`` is the text of every file, by its name;
    ``files`` are the files that were read, which no answer may be written over.
    """

    command = "check"

    layout: str | None
    findings: tuple[Finding, ...] = ()
    unchecked: tuple[Unchecked, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    understood: bool = True
    gone: tuple[str, ...] | None = None
    off: tuple[Off, ...] = ()
    milder: tuple[Milder, ...] = ()
    laxer: tuple[Laxer, ...] = ()
    basis: Basis | None = None
    parts: tuple[CheckAnswer, ...] = field(default=(), repr=False, eq=False)
    sources: Mapping[str, str] = field(factory=dict, repr=False, eq=False)
    files: tuple[FilePath, ...] = field(default=(), repr=False, eq=False)
    _applied: tuple[Applied, ...] = field(default=(), alias="applied", repr=False, eq=False)
    _of: tuple[Study, date] | None = field(default=None, alias="of", repr=False, eq=False)

    def held(self) -> tuple[Held, ...]:
        """What holds, rule by rule and subject by subject; worked out when it is asked for."""
        return tuple(Held(one.rule, name, clear) for one in self._applied for name, clear in one.held())

    def drawings(self) -> tuple[Drawing, ...]:
        """Each layout drawn, with its findings marked, when it is asked for; none unless all could be understood."""
        from blockcheck.answers.draw import drawing

        drawn = [one._of for one in self.parts or (self,) if one._of is not None]
        return tuple(drawing(study, today=today) for study, today in drawn) if self.understood else ()

    @property
    def undecided(self) -> int:
        """How many of the checks that were not made were too large to be decided."""
        return sum(one.undecided for one in self.unchecked)

    @property
    def new(self) -> tuple[Finding, ...]:
        """The findings that an earlier answer had not; all of them where none was compared with."""
        return tuple(finding for finding in self.findings if not finding.known)

    def count(self, severity: Severity) -> int:
        """How many findings have a severity."""
        return sum(finding.severity is severity for finding in self.findings)

    def fails(self, fail_on: Severity | None) -> bool:
        """Whether any finding that is not known already is at or above a severity; None never fails."""
        return fail_on is not None and any(finding.severity.rank <= fail_on.rank for finding in self.new)


def check(study: Study, today: date) -> CheckAnswer:
    """Apply all rules to a study. Raises InputError where the layout names a rule that does not exist."""
    report = run(study, today)
    document = study.wiring.document
    return CheckAnswer(
        study.layout.about.name,
        tuple(located(finding, document) for finding in report.findings),
        report.unchecked,
        tuple(attrs.evolve(one, finding=located(one.finding, document)) for one in report.accepted),
        off=report.off,
        milder=report.milder,
        laxer=laxer(study.layout),
        basis=basis_of(study, report),
        sources={file.source.name: file.source.text for file in document.files},
        files=study.files,
        applied=report.applied,
        of=(study, today),
    )


def refused(error: InputError) -> CheckAnswer:
    """The answer for input that could not be understood."""
    return CheckAnswer(None, error.findings, understood=False, files=error.files)


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
        off=_together(one for answer in many for one in answer.off),
        milder=_ranked(one for answer in many for one in answer.milder),
        laxer=tuple(dict.fromkeys(one for answer in many for one in answer.laxer)),
        basis=together(answer.basis for answer in many if answer.basis is not None),
        parts=tuple(many),
        sources={name: text for answer in many for name, text in answer.sources.items()},
        files=tuple(path for answer in many for path in answer.files),
    )


def _together(many: Iterable[Off]) -> tuple[Off, ...]:
    """Each rule once, with its findings in all layouts."""
    counts: dict[str, int] = {}
    for one in many:
        counts[one.rule] = counts.get(one.rule, 0) + one.findings
    return tuple(Off(rule, count) for rule, count in counts.items())


def _ranked(many: Iterable[Milder]) -> tuple[Milder, ...]:
    """Likewise, each rule once for every way in which it is ranked down."""
    counts: dict[tuple[str, str, str], int] = {}
    for one in many:
        key = one.rule, one.severity, one.default
        counts[key] = counts.get(key, 0) + one.findings
    return tuple(Milder(*key, count) for key, count in counts.items())


HELP = "take what check --format json wrote"


def fingerprints(text: str, name: str) -> Counter[str]:
    """How often an earlier answer, in JSON, has each fingerprint. Raises CallError for any other text."""
    try:
        value = json.loads(text)
    except (ValueError, RecursionError):
        raise CallError(f"{shown(name)} is no answer of a check: it is not JSON", HELP) from None
    return fingerprints_of(value, name)


def fingerprints_of(value: object, name: str) -> Counter[str]:
    """How often an earlier answer, as plain data, has each fingerprint. Raises CallError for any other data.

    Only what is needed of it is looked at, so that answers of older versions serve as well.
    """
    form = value.get("format") if isinstance(value, dict) else None
    findings = value.get("findings") if isinstance(value, dict) else None
    if form != 1 and isinstance(findings, list) and isinstance(form, int):
        raise CallError(f"{shown(name)} has format {form}, and this version reads format 1", "write it anew")
    if form != 1 or isinstance(form, bool) or not isinstance(findings, list):
        raise CallError(f"{shown(name)} is no answer of a check", HELP)
    counts: Counter[str] = Counter()
    for number, finding in enumerate(findings, 1):
        fingerprint = finding.get("fingerprint") if isinstance(finding, dict) else None
        if not isinstance(fingerprint, str):
            raise CallError(f"{shown(name)} is no answer of a check: finding {number} has no fingerprint", HELP)
        if finding.get("rule") == "input":
            raise CallError(
                f"{shown(name)} is the answer for a layout that could not be understood", "take one of a whole check"
            )
        counts[fingerprint] += 1
    return counts


def compared(answer: CheckAnswer, earlier: Counter[str]) -> CheckAnswer:
    """The answer with each finding marked as known or new, and what is gone.

    A fingerprint that was found twice makes two findings known, the worst first, and a third one new.
    """
    left = earlier.copy()

    def marked(part: CheckAnswer) -> CheckAnswer:
        findings = []
        for finding in part.findings:
            known = finding.rule != "input" and left[finding.fingerprint] > 0
            left[finding.fingerprint] -= known
            findings.append(attrs.evolve(finding, known=known))
        return attrs.evolve(part, findings=tuple(findings))

    made = joined([marked(part) for part in answer.parts or (answer,)])
    return attrs.evolve(made, gone=tuple(sorted(left.elements())))
