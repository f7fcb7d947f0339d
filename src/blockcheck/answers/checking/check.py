"""Is it right? The rules' report with every path turned into a place; and what that comes to, in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import partial
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, NamedTuple

import attrs
from attrs import field, frozen

from blockcheck.analysis.power.defaults import laxer
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.checking.basis import Basis, basis_of, together
from blockcheck.answers.document import Brief, Cards, Document, Excerpts, Figure, Lines, Verdict
from blockcheck.answers.facts import place_of
from blockcheck.answers.lacking import in_brief, taken, unchecked_table
from blockcheck.answers.tables import Cell, Table
from blockcheck.core.errors import InputError
from blockcheck.core.findings import Accepted, Finding, Laxer, Milder, Off, Severity, Unchecked, likewise, order
from blockcheck.core.words import plural
from blockcheck.rules import Applied, run
from blockcheck.rules._located import located

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing


class Held(NamedTuple):
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
        return tuple(make() for make in self._drawn())

    def _drawn(self) -> Iterator[Callable[[], Drawing]]:
        for one in self.parts or (self,) if self.understood else ():
            if one._of is not None:
                yield partial(_drawing, *one._of)

    @property
    def undecided(self) -> int:
        """How many of the checks that were not made were too large to be decided."""
        return sum(one.undecided for one in self.unchecked)

    @property
    def new(self) -> tuple[Finding, ...]:
        """The findings that an earlier answer had not; all of them where none was compared with."""
        return tuple(finding for finding in self.findings if not finding.known)

    def document(self) -> Document:
        """The verdict first. Plain text has its sentence there, and what that rests on at the end.

        Programs have one table.
        """
        known = likewise([one for one in self.findings if one.known])
        lines = [f"{one.severity.value}  {one.rule}  {one.subject}: {one.message}" for one in known]
        gone = Lines("Gone since the baseline", self.gone or ())
        defaults = taken(self.basis.defaults if self.basis is not None else ())
        figures = [Figure(make, f"drawing-{number}") for number, make in enumerate(self._drawn(), 1)]
        excerpts = [Excerpts("Where it stands")] if self.findings else []
        return Document(
            "Check",
            self.layout or "not understood",
            (
                Brief(
                    [verdict(self), Cards(self.findings, "Findings")],
                    [Cards(likewise(self.new)), Lines("Known from the baseline", lines), gone],
                ),
                accepted_table(self),
                unchecked_table(self.unchecked),
                kept_back_table(self),
                Brief([defaults, gone, *excerpts, *figures], [verdict(self)]),
            ),
            (_findings_table(self),),
            head=f"{sum_of(self)}." if self.understood and (self.findings or self.accepted or self.unchecked) else "",
            sources=self.sources,
        )

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


NO_ERRORS = "no errors"


def sum_of(answer: CheckAnswer) -> str:
    """The last line of a check, without the name of the layout: ``no errors: 1 note; 3 checks not made``."""
    return "; ".join([verdict_of(answer), *reservations_of(answer)])


def verdict_of(answer: CheckAnswer) -> str:
    """What was found."""
    counts = ", ".join(
        plural(answer.count(severity), severity.value) for severity in Severity if answer.count(severity)
    )
    if not answer.understood:
        return f"the input could not be understood: {counts or 'nothing was read'}"
    if answer.count(Severity.ERROR):
        return counts
    return NO_ERRORS + (f": {counts}" if counts else "")


def reservations_of(answer: CheckAnswer) -> Iterator[str]:
    """What the verdict does not speak of: checks not made, what is accepted, off, ranked down or lax, a baseline."""
    if answer.unchecked:
        undecided = f", {answer.undecided} of them undecided" if answer.undecided else ""
        yield plural(len(answer.unchecked), "check") + " not made" + undecided
    if answer.accepted:
        yield f"{len(answer.accepted)} accepted"
    if answer.off:
        hidden = sum(one.findings for one in answer.off)
        yield f"{plural(len(answer.off), 'rule')} off" + (f", hiding {plural(hidden, 'finding')}" if hidden else "")
    if answer.milder:
        lowered = sum(one.findings for one in answer.milder)
        yield f"{plural(len(answer.milder), 'rule')} ranked down" + (
            f", with {plural(lowered, 'finding')}" if lowered else ""
        )
    if answer.laxer:
        yield f"{plural(len(answer.laxer), 'limit')} laxer than by default"
    if answer.gone is not None:
        new = len(answer.new)
        yield f"{new} new, {len(answer.findings) - new} known and {len(answer.gone)} gone since the baseline"


def rests_on(answer: CheckAnswer) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What the verdict rests on, under up to three heads: what was judged, was taken for granted, is not modelled."""
    basis = answer.basis
    if basis is None:
        return
    volts = {0: " without volts", basis.blocks: " with volts"}.get(basis.with_volts, f", {basis.with_volts} with volts")
    yield (
        "judged",
        (
            f"{plural(basis.blocks, 'block')}{volts}",
            f"by {basis.active} of {plural(len(basis.judged), 'rule')}",
            *([f"in all positions of {plural(basis.contacts, 'contact')}"] if basis.contacts else []),
            *([f"but what {plural(basis.interlocks, 'interlock')} is said to keep out"] if basis.interlocks else []),
            *([f"in {plural(basis.scenarios, 'scenario')}"] if basis.scenarios else []),
        ),
    )
    for head, told in (
        ("defaults", tuple(in_brief(basis.defaults))),
        ("not modelled", tuple(dict.fromkeys(one.what for one in basis.not_modelled))),
    ):
        if told:
            yield head, told


def kept_back(answer: CheckAnswer) -> Iterator[str]:
    """Each rule that is off or ranked down and each limit that is lax, in a line."""
    for off in answer.off:
        yield f"{off.rule} is off: {plural(off.findings, 'finding')} not told"
    for milder in answer.milder:
        yield (
            f"{milder.rule} is ranked down to {milder.severity}: {plural(milder.findings, milder.default)} told as "
            f"{milder.severity}"
        )
    for lax in answer.laxer:
        yield f"limits.{lax.limit} is {lax.value}; the default, {lax.default}, is stricter"


def verdict(answer: CheckAnswer) -> Verdict:
    """What a check comes to, in a sentence and in badges, and what that rests on."""
    badges = [
        (severity.value, plural(answer.count(severity), severity.value))
        for severity in Severity
        if answer.count(severity)
    ]
    if not answer.understood:
        badges.insert(0, ("", "The input could not be understood."))
    elif not answer.count(Severity.ERROR):
        badges.insert(0, ("fine", NO_ERRORS))
    badges += [("plain", told) for told in reservations_of(answer)]
    name = answer.layout or "" if answer.understood else ""
    return Verdict(name, sum_of(answer), NO_ERRORS, tuple(badges), tuple(rests_on(answer)))


def kept_back_table(answer: CheckAnswer) -> Table:
    """The rules that are off, and the limits that are lax."""
    lines = tuple(kept_back(answer))
    header = "what may have kept findings from being told"
    return Table("Off or lax", (header,), [(one,) for one in lines], brief=lines)


def accepted_table(answer: CheckAnswer) -> Table:
    """What the layout accepts, with its reasons."""
    found = [(one.finding, one.because) for one in answer.accepted]
    rows = [(one.rule, ", ".join((one.subject, *one.others)), one.message, because) for one, because in found]
    brief = [f"{one.rule}  {one.subject}: {because}" for one, because in found]
    return Table("Accepted", ("rule", "of", "what it says", "accepted because"), rows, brief=brief)


_COLUMNS = (
    *("status", "rule", "subject", "with", "message", "help", "needs", "because"),
    *("file", "line", "column", "measured", "limit", "unit"),
)


def _findings_table(answer: CheckAnswer) -> Table:
    """Findings, what may have kept others from being told, what it rests on, the sum: ``status`` tells them apart."""
    rows = [_row(finding.severity.value, finding) for finding in answer.findings]
    for one in answer.unchecked:
        status = "undecided" if one.undecided else "not checked"
        rows.append((status, one.rule, one.subject, None, None, None, ", ".join(one.needs), *[None] * 7))
    rows += [_row("accepted", one.finding, one.because) for one in answer.accepted]
    rows += [_said("off or lax", told) for told in kept_back(answer)]
    rows += [_said("rests on", told) for told in verdict(answer).lines]
    rows.append(_said("sum", sum_of(answer)))
    return Table("Findings", _COLUMNS, rows)


def _row(status: str, finding: Finding, because: str | None = None) -> tuple[Cell, ...]:
    at = place_of(finding)
    return (
        *(status, finding.rule, finding.subject, ", ".join(finding.others), finding.message, finding.help),
        *(None, because, at.file, at.line, at.column, finding.measured, finding.limit, finding.unit),
    )


def _said(status: str, told: str) -> tuple[Cell, ...]:
    return (status, None, None, None, told, *[None] * 9)


def _drawing(study: Study, today: date | None) -> Drawing:
    """The drawing of a study: what draws is loaded where one is shown."""
    from blockcheck.answers.draw import drawing

    return drawing(study, today=today)
