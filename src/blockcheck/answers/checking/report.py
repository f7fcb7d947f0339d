"""A check as programs read it: every finding with its places, what was not told, and the counts."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from blockcheck.answers.checking.basis import Basis
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.core.columns import column
from blockcheck.core.findings import Edit, Finding, Laxer, Milder, Off, Severity, Unchecked
from blockcheck.core.spans import Place

_FILE, _LINE, _COLUMN = "File, as it was named.", "Line, from 1.", "Column in code points, from 1."
_RULE = "Name of the rule; input for what could not be understood."


@frozen
class EditRow:
    """A change of a file."""

    file: str = column(_FILE)
    line: int = column("First line, from 1.", least=1)
    column_: int = column("First column in code points, from 1.", least=1)
    end_line: int = column("Last line.", least=1)
    end_column: int = column(
        "The column after the last that is replaced; where the end is the beginning the text is put in.", least=1
    )
    text: str = column("What to write there.")


@frozen
class RelatedRow:
    """Another place of a finding."""

    file: str = column(_FILE)
    line: int = column(_LINE, least=1)
    column_: int = column(_COLUMN, least=1)
    message: str = column("Why this line is involved.")


@frozen
class FindingRow:
    """One finding."""

    rule: str = column(_RULE)
    severity: str = column("How bad it is.", choices=tuple(one.value for one in Severity))
    subject: str = column("The name to look at first.")
    with_: tuple[str, ...] = column("The other names involved.")
    message: str = column("What is wrong, in words.")
    help: str | None = column("How to mend it.")
    edits: tuple[EditRow, ...] = column(
        "Changes of the files that mend it, all of them together; empty where the mend is only told in words."
    )
    file: str = column(_FILE)
    line: int = column(_LINE, least=1)
    column_: int = column(_COLUMN, least=1)
    related: tuple[RelatedRow, ...] = column("Other lines involved.")
    measured: float | None = column("Measured value, in the unit given.")
    limit: float | None = column("What it is held against, in the same unit.")
    unit: str | None = column("Unit of both.")
    fingerprint: str = column("Rule and names, never the line: the same finding later has the same one.")
    state: Mapping[str, str] | None = column("Positions of the controls in which it shows.")
    path: tuple[str, ...] | None = column("The path of the current, by names.")
    known: bool | None = column("Whether an earlier answer had it; null where it was held against none.")


@frozen
class AcceptedRow:
    """A finding that the layout accepts."""

    rule: str = column("Name of the rule.")
    subject: str = column("What it is accepted for.")
    because: str = column("The reason.")


@frozen
class Baseline:
    """How a check compares with an earlier answer."""

    new: int = column("Count of findings that the earlier answer had not.", least=0)
    known: int = column("Count of findings that it had.", least=0)
    gone: tuple[str, ...] = column("Fingerprints of findings that it had and that are gone, once each time.")


@frozen
class Summary:
    """What was found, and whatever may have kept a finding from being told, counted."""

    errors: int = column("Count of errors.", least=0)
    warnings: int = column("Count of warnings.", least=0)
    notes: int = column("Count of notes.", least=0)
    unchecked: int = column("Count of checks not made.", least=0)
    undecided: int = column("Count of those of them that were too large to be decided.", least=0)
    accepted: int = column("Count of accepted findings.", least=0)
    off: int = column("Count of rules that are switched off.", least=0)
    milder: int = column("Count of rules that the layout ranks down.", least=0)
    laxer: int = column("Count of limits that forgive more than their defaults.", least=0)


@frozen
class CheckReport:
    """A check, whole."""

    layout: str | None = column("Name of the layout; null where it could not be understood.")
    findings: tuple[FindingRow, ...] = column("Worst first, then by rule and names.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")
    accepted: tuple[AcceptedRow, ...] = column("What the layout accepts, and why.")
    off: tuple[Off, ...] = column("The rules that the layout switches off.")
    milder: tuple[Milder, ...] = column("The rules that the layout ranks below what their findings would be.")
    laxer: tuple[Laxer, ...] = column("The limits of the layout that forgive more than their defaults.")
    basis: Basis | None = column("What the verdict rests on; null where the input could not be understood.")
    baseline: Baseline | None = column("How it compares with an earlier answer; null where it was held against none.")
    summary: Summary = column("The counts.")


def report_of(answer: CheckAnswer) -> CheckReport:
    """A check as its schema has it."""
    new = len(answer.new)
    return CheckReport(
        answer.layout,
        tuple(map(_finding, answer.findings)),
        answer.unchecked,
        tuple(AcceptedRow(one.finding.rule, one.finding.subject, one.because) for one in answer.accepted),
        answer.off,
        answer.milder,
        answer.laxer,
        answer.basis,
        None if answer.gone is None else Baseline(new, len(answer.findings) - new, answer.gone),
        summary_of(answer),
    )


def summary_of(answer: CheckAnswer) -> Summary:
    """The counts of a check."""
    return Summary(
        answer.count(Severity.ERROR),
        answer.count(Severity.WARNING),
        answer.count(Severity.NOTE),
        len(answer.unchecked),
        answer.undecided,
        len(answer.accepted),
        len(answer.off),
        len(answer.milder),
        len(answer.laxer),
    )


def _finding(one: Finding) -> FindingRow:
    places = ((label.at, label.message) for label in one.related)
    edits = (edit for edit in one.edits if isinstance(edit, Edit))
    return FindingRow(
        one.rule,
        one.severity.value,
        one.subject,
        (*one.others, *one.alike),
        one.message,
        one.help,
        tuple(EditRow(*_at(edit.at), edit.at.end_line, edit.at.end_column, edit.text) for edit in edits),
        *_at(one.at),
        tuple(RelatedRow(*_at(at), message) for at, message in places if isinstance(at, Place)),
        one.measured,
        one.limit,
        one.unit,
        one.fingerprint,
        one.state,
        one.way,
        one.known,
    )


def _at(place: object) -> tuple[str, int, int]:
    assert isinstance(place, Place)
    return place.file, place.line, place.column
