"""A check as JUnit XML, as continuous integration services show test results.

There is no official schema; what is written is valid against the one that pytest's source carries (junit-10.xsd). A
suite is a layout, a case is a rule and a subject: so what passes shows. No times: the same input gives the same bytes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from attrs import Factory, define

from blockcheck.answers.checking.check import kept_back, rests_on, sum_of
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import on_one_line
from blockcheck.core.spans import Place
from blockcheck.core.words import plural
from blockcheck.formats.escape import for_text

if TYPE_CHECKING:
    from blockcheck.answers.checking.check import CheckAnswer

WHOLE = "the whole layout"


@define
class _Case:
    """All that one rule has to say of one subject."""

    failed: list[Finding] = Factory(list)
    mild: list[Finding] = Factory(list)
    skipped: list[str] = Factory(list)


def check_junit(answer: CheckAnswer, fail_on: Severity | None = Severity.ERROR) -> str:
    """A check as JUnit XML.

    A finding at or above ``fail_on`` is a failure, as it is for the exit status; one below it, or one that an earlier
    answer knows, is told in a case that does not fail. What could not be understood is an error. What is accepted, was
    not checked or is switched off is skipped, with the reason. What the verdict rests on are properties of a suite.
    """
    root = Element("testsuites", name="blockcheck")
    suites = [_suite(root, part, number, fail_on) for number, part in enumerate(answer.parts or (answer,), 1)]
    for count in ("tests", "failures", "errors"):
        root.set(count, str(sum(int(suite.get(count, "0")) for suite in suites)))
    word = "finding of the baseline is" if len(answer.gone or ()) == 1 else "findings of the baseline are"
    gone = [f"{len(answer.gone)} {word} gone: {', '.join(answer.gone)}"] if answer.gone else []
    SubElement(suites[-1], "system-out").text = _text("\n".join([*gone, *kept_back(answer), f"{sum_of(answer)}."]))
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _suite(root: Element, part: CheckAnswer, number: int, fail_on: Severity | None) -> Element:
    cases: dict[tuple[str, str], _Case] = {}

    def case(rule: str, subject: str) -> _Case:
        return cases.setdefault((rule, subject or WHOLE), _Case())

    for finding in part.findings:
        fails = fail_on is not None and finding.severity.rank <= fail_on.rank and not finding.known
        for subject in (finding.subject, *finding.alike):  # one cause, and each of them fails by it
            one = case(finding.rule, subject)
            (one.failed if fails or finding.rule == "input" else one.mild).append(finding)
    for accepted in part.accepted:
        case(accepted.finding.rule, accepted.finding.subject).skipped.append(f"accepted: {accepted.because}")
    for lack in part.unchecked:
        case(lack.rule, lack.subject).skipped.append(f"not checked: needs {', '.join(lack.needs)}")
    for off in part.off:
        case(off.rule, WHOLE).skipped.append(f"switched off in the layout: {plural(off.findings, 'finding')} not told")
    for held in part.held():
        one = case(held.rule, held.subject or WHOLE)
        if not held.clear:
            one.skipped.append("judged as if the earlier findings about it were mended: mend those first")

    suite = SubElement(root, "testsuite", name=_text(part.layout or _file(part) or f"layout {number}"))
    counts = dict.fromkeys(("failures", "errors", "skipped"), 0)
    if part.basis is not None:
        properties = SubElement(suite, "properties")
        for head, told in rests_on(part):
            SubElement(properties, "property", name=head, value=_text(", ".join(told)))
    for rule, subject in sorted(cases, key=lambda key: (key[0], natural_key(key[1]))):
        kind = _write(
            SubElement(suite, "testcase", classname=f"blockcheck.{rule}", name=_text(subject)), cases[rule, subject]
        )
        if kind is not None:
            counts[kind] += 1
    suite.set("tests", str(len(cases)))
    for kind, count in counts.items():
        suite.set(kind, str(count))
    return suite


def _write(case: Element, one: _Case) -> str | None:
    """Fill a test case; returns what it counts as, None for a pass."""
    kind: str | None = None
    if one.failed:
        tag = "error" if one.failed[0].rule == "input" else "failure"
        kind = f"{tag}s"
        _result(case, tag, one.failed[0].severity.value, one.failed)
    elif one.mild and all(finding.known for finding in one.mild):
        kind = "skipped"
        _result(case, "skipped", "known", one.mild, "known from the baseline: ")
    elif not one.mild and one.skipped:
        kind = "skipped"
        SubElement(case, "skipped", message=_text("; ".join(dict.fromkeys(one.skipped))))
    said = [_told(finding) for finding in one.mild] if kind != "skipped" else []
    said += one.skipped if one.failed or one.mild else []
    if said:
        SubElement(case, "system-out").text = _text("\n".join(dict.fromkeys(said)))
    return kind


def _result(case: Element, tag: str, type_: str, findings: list[Finding], before: str = "") -> None:
    message = "; ".join(finding.message for finding in findings)
    SubElement(case, tag, type=type_, message=_text(before + message)).text = _text("\n\n".join(map(_told, findings)))


def _told(finding: Finding) -> str:
    """A finding in lines: where, what, the current's way with the switches, how to mend it."""
    at = finding.at
    lines = (
        [f"{at.file}:{at.line}:{at.column}: {finding.severity.value}: {finding.message}"]
        if isinstance(at, Place)
        else []
    )
    if finding.others:
        lines.append(f"with: {', '.join(finding.others)}")
    if finding.way:
        lines.append(f"current: {' > '.join(finding.way)}")
    if finding.state:
        lines.append(f"positions: {', '.join(f'{name} {place}' for name, place in finding.state.items())}")
    if finding.help:
        lines.append(f"mend: {finding.help}")
    return "\n".join(map(on_one_line, lines))


def _file(part: CheckAnswer) -> str | None:
    at = part.findings[0].at if part.findings else None
    return at.file if isinstance(at, Place) else None


def _text(text: str) -> str:
    """Lines of a text, with what XML cannot hold as escapes."""
    return "\n".join(map(for_text, text.split("\n")))
