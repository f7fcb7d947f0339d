"""What an earlier check had: each finding as known or new, and what is gone."""

from __future__ import annotations

import json
from collections import Counter

import attrs

from blockcheck.answers.checking.check import CheckAnswer, joined
from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown

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
