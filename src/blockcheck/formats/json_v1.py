"""Answers as JSON, version 1. Its own type, not a dump of the model: ``schemas/`` describes it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from blockcheck.answers.columns import to_dict
from blockcheck.core.findings import Edit, Finding, Severity
from blockcheck.core.spans import Place
from blockcheck.formats.escape import for_json
from blockcheck.formats.marks import GENERATOR

if TYPE_CHECKING:
    from blockcheck.answers.check import CheckAnswer

Json = dict[str, Any]


def dumps(value: Json) -> str:
    """JSON text as it is written everywhere: indented, in UTF-8, with a newline at its end."""
    return json_text({"format": 1, "generator": GENERATOR, **value})


def json_text(value: Json) -> str:
    """As ``dumps``, of what has its format said otherwise."""
    return for_json(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)) + "\n"


def check_json(answer: CheckAnswer) -> str:
    """A check as ``check.schema.json`` has it."""
    return dumps(
        {
            "layout": answer.layout,
            "findings": [_finding(one) for one in answer.findings],
            "unchecked": [
                {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked
            ],
            "accepted": [
                {"rule": one.finding.rule, "subject": one.finding.subject, "because": one.because}
                for one in answer.accepted
            ],
            "off": [{"rule": one.rule, "findings": one.findings} for one in answer.off],
            "milder": [
                {"rule": one.rule, "severity": one.severity, "default": one.default, "findings": one.findings}
                for one in answer.milder
            ],
            "laxer": [{"limit": one.limit, "value": one.value, "default": one.default} for one in answer.laxer],
            "basis": basis_value(answer),
            "baseline": _baseline(answer),
            "summary": summary_value(answer),
        }
    )


def summary_value(answer: CheckAnswer) -> Json:
    """The counts of a check: what was found, and whatever may have kept a finding from being told."""
    return {
        "errors": answer.count(Severity.ERROR),
        "warnings": answer.count(Severity.WARNING),
        "notes": answer.count(Severity.NOTE),
        "unchecked": len(answer.unchecked),
        "undecided": answer.undecided,
        "accepted": len(answer.accepted),
        "off": len(answer.off),
        "milder": len(answer.milder),
        "laxer": len(answer.laxer),
    }


def basis_value(answer: CheckAnswer) -> Json | None:
    """What the verdict rests on, whole; null where the input could not be understood."""
    return None if answer.basis is None else to_dict(answer.basis)


def _baseline(answer: CheckAnswer) -> Json | None:
    if answer.gone is None:
        return None
    new = len(answer.new)
    return {"new": new, "known": len(answer.findings) - new, "gone": list(answer.gone)}


def _finding(finding: Finding) -> Json:
    assert isinstance(finding.at, Place)
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "subject": finding.subject,
        "with": [*finding.others, *finding.alike],
        "message": finding.message,
        "help": finding.help,
        "edits": [
            {**_place(one.at), "end_line": one.at.end_line, "end_column": one.at.end_column, "text": one.text}
            for one in finding.edits
            if isinstance(one, Edit)
        ],
        **_place(finding.at),
        "related": [
            {**_place(label.at), "message": label.message} for label in finding.related if isinstance(label.at, Place)
        ],
        "measured": finding.measured,
        "limit": finding.limit,
        "unit": finding.unit,
        "fingerprint": finding.fingerprint,
        "state": dict(finding.state) if finding.state is not None else None,
        "path": list(finding.way) if finding.way is not None else None,
        "known": finding.known,
    }


def _place(place: Place) -> Json:
    return {"file": place.file, "line": place.line, "column": place.column}


def answer_json(answer: object) -> str:
    """An answer as its schema has it."""
    return dumps(to_dict(answer))
