"""A check as SARIF 2.1.0, as code scanning services take it.

What they ask for beyond the standard is documented by GitHub ("SARIF support for code scanning"): a location for every
result, 10 MB and 25,000 results at most. What is cut for that is told in a notification.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import chain
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from attrs import field, frozen

from blockcheck.answers.checking.check import kept_back
from blockcheck.answers.checking.report import summary_of
from blockcheck.answers.columns import to_dict
from blockcheck.answers.explain import RuleAnswer, explain_all
from blockcheck.answers.lacking import kind_of_need
from blockcheck.core.findings import Edit, Finding, Label, Unchecked
from blockcheck.core.spans import Path, Place
from blockcheck.core.words import cut_short
from blockcheck.formats.programs.json_v1 import json_text
from blockcheck.formats.programs.line_hash import line_hashes

if TYPE_CHECKING:
    from blockcheck.answers.checking.check import CheckAnswer

Json = dict[str, Any]
SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
MOST_RESULTS = 25_000
MOST_BYTES = 10_000_000
INPUT = RuleAnswer(
    "input",
    "input",
    "error",
    "A layout can be understood.",
    "What cannot be understood cannot be checked.",
    "Write what the message says.",
    (),
)
"""What stands for a rule where a file could not be understood."""


def check_sarif(
    answer: CheckAnswer,
    version: str,
    first: str,
    in_repository: Callable[[str], str] = str,
    most_results: int = MOST_RESULTS,
    most_bytes: int = MOST_BYTES,
) -> str:
    """A check as a SARIF log, findings worst first, then what is accepted as suppressed results.

    ``first`` is the file that a result without a place of its own is shown at; ``in_repository`` turns the name of a
    file into its path from the top of the repository. Of more than ``most_results``, or beyond ``most_bytes`` of
    UTF-8, the first are written, and a notification says how many are left out.
    """
    page = _Page(answer, first, in_repository)
    accepted = ((one.finding, one.because) for one in answer.accepted)
    results = [page.result(*one) for one in chain(((one, None) for one in answer.findings), accepted)]
    kept = min(len(results), most_results)
    while True:
        text = json_text(_log(page, version, results, kept))
        size = len(text.encode("utf-8", "replace"))
        if size <= most_bytes or not kept:
            return text
        kept = min(kept - 1, int(kept * most_bytes / size))


def _log(page: _Page, version: str, results: list[Json], kept: int) -> Json:
    rules = [_rule(rule) for rule in page.rules.values()]
    basis = page.answer.basis
    run = {
        "tool": {"driver": {"name": "blockcheck", "version": version, "semanticVersion": version, "rules": rules}},
        "invocations": [
            {
                "executionSuccessful": page.answer.understood,
                "toolExecutionNotifications": list(_notifications(page, len(results) - kept)),
            }
        ],
        "columnKind": "unicodeCodePoints",
        "results": results[:kept],
        "properties": {"summary": to_dict(summary_of(page.answer)), "basis": None if basis is None else to_dict(basis)},
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(rule: RuleAnswer) -> Json:
    needs = f" Needs {', '.join(rule.needs)}." if rule.needs else ""
    needs_md = f"\n\n**Needs** {', '.join(f'`{need}`' for need in rule.needs)}" if rule.needs else ""
    return {
        "id": rule.rule,
        "name": "".join(word.capitalize() for word in rule.rule.split("-")),
        "shortDescription": {"text": rule.sentence},
        "fullDescription": {"text": f"{rule.sentence} Why: {rule.why}"},
        "help": {
            "text": f"{rule.sentence}\n\nWhy: {rule.why}\n\nMend: {rule.mend}{needs}",
            "markdown": f"{rule.sentence}\n\n**Why:** {rule.why}\n\n**Mend:** {rule.mend}{needs_md}",
        },
        "defaultConfiguration": {"level": rule.severity},
        "properties": {"tags": [rule.family]},
    }


def _notifications(page: _Page, left_out: int) -> Iterable[Json]:
    for told in kept_back(page.answer):
        yield {"level": "warning", "message": _text(told)}
    if left_out:
        word = "result is" if left_out == 1 else "results are"
        text = f"{left_out} {word} left out: code scanning takes no more at once. blockcheck check shows all."
        yield {"level": "warning", "message": _text(text)}
    groups: dict[tuple[str, tuple[str, ...]], list[Unchecked]] = {}
    for one in page.answer.unchecked:
        needs = tuple(dict.fromkeys(map(kind_of_need, one.needs)))
        groups.setdefault((one.rule, needs), []).append(one)
    for (rule, needs), many in groups.items():
        names = cut_short([one.subject for one in many], 5)
        text = f"{rule} was not checked for {names}: needs {', '.join(needs)}"
        yield {"level": "note", "message": _text(text), "associatedRule": {"id": rule, "index": page.index[rule]}}


@frozen(eq=False, repr=False)
class _Page:
    """What the results of one log share."""

    answer: CheckAnswer
    first: str
    in_repository: Callable[[str], str]
    rules: dict[str, RuleAnswer] = field(factory=lambda: {one.rule: one for one in (*explain_all(), INPUT)}, init=False)
    index: dict[str, int] = field(init=False)
    _hashes: dict[str, list[str]] = field(factory=dict, init=False)

    @index.default
    def _index(self) -> dict[str, int]:
        return {name: index for index, name in enumerate(self.rules)}

    def result(self, finding: Finding, because: str | None) -> Json:
        """A finding; a suppressed one where ``because`` says why it is accepted."""
        at = finding.at if isinstance(finding.at, Place) and _in_a_file(finding.at) else None
        hidden = [Label(finding.at, "the finding's place")] if at is None else []
        related = [
            {"id": number, **self._location(label.at), "message": _text(label.message)}
            for number, label in enumerate((*hidden, *finding.related), 1)
            if isinstance(label.at, Place) and label.message
        ]
        mend = f"\nMend: {finding.help}" if finding.help else ""
        made: Json = {
            "ruleId": finding.rule,
            "ruleIndex": self.index[finding.rule],
            "level": finding.severity.value,
            "message": _text(f"{finding.message}{mend}"),
            "locations": [self._location(at) if at else self._start()],
            "partialFingerprints": self._fingerprints(finding, at),
        }
        if related:
            made["relatedLocations"] = related
        if finding.edits:
            made["fixes"] = [self._fix(finding)]
        if finding.way and finding.hops:
            made["codeFlows"] = [self._flow(finding)]
        if because is not None:
            made["suppressions"] = [{"kind": "inSource", "status": "accepted", "justification": because or "accepted"}]
        elif finding.known is not None:
            made["baselineState"] = "unchanged" if finding.known else "new"
        properties = {"measured": finding.measured, "limit": finding.limit, "unit": finding.unit}
        kept: Json = {name: value for name, value in properties.items() if value is not None and value != ""}
        if finding.state:
            kept["state"] = dict(finding.state)
        return {**made, "properties": {"subject": finding.subject or "the layout", **kept}}

    def _fix(self, finding: Finding) -> Json:
        """The edits that mend it, file by file."""
        files: dict[str, list[Json]] = {}
        for one in finding.edits:
            assert isinstance(one, Edit)
            place = self._location(one.at)["physicalLocation"]
            inserted = {"insertedContent": {"text": one.text}} if one.text else {}
            change = {"deletedRegion": place["region"], **inserted}
            files.setdefault(place["artifactLocation"]["uri"], []).append(change)
        changes = [{"artifactLocation": {"uri": uri}, "replacements": many} for uri, many in files.items()]
        return {"description": _text(finding.help or finding.message), "artifactChanges": changes}

    def _flow(self, finding: Finding) -> Json:
        """The path of the current, hop by hop, with the positions of the switches."""
        state = dict(finding.state or {})
        locations = []
        for hop in finding.hops:
            assert isinstance(hop.at, Place)
            control = hop.message if hop.message in state else hop.message.partition(".")[0]
            text = f"{hop.message} ({state[control]})" if control in state else hop.message
            at = self._location(hop.at) if _in_a_file(hop.at) else self._start()
            locations.append({"location": {**at, "message": _text(text)}})
        flow: Json = {"locations": locations}
        if state:
            flow["immutableState"] = {name: _text(place) for name, place in state.items()}
        return {"message": {"text": "the path of the current"}, "threadFlows": [flow]}

    def _fingerprints(self, finding: Finding, at: Place | None) -> Json:
        made = {"blockcheck/v1": finding.fingerprint}
        text = self.answer.sources.get(at.file if at is not None else self.first)
        if text is not None:
            name = at.file if at is not None else self.first
            if name not in self._hashes:
                self._hashes[name] = line_hashes(text)
            line = (at.line if at is not None else 1) - 1
            if line < len(self._hashes[name]):
                made["primaryLocationLineHash"] = self._hashes[name][line]
        return made

    def _start(self) -> Json:
        return self._location(Place(self.first, 1, 1, 1, 1))

    def _location(self, at: Path | Place) -> Json:
        assert isinstance(at, Place)
        region = {
            "startLine": max(at.line, 1),
            "startColumn": max(at.column, 1),
            "endLine": max(at.end_line, at.line, 1),
            "endColumn": max(at.end_column, 1),
        }
        uri = quote(self.in_repository(at.file), safe="/") or "layout.toml"
        return {"physicalLocation": {"artifactLocation": {"uri": uri}, "region": region}}


def _text(text: str) -> Json:
    """A message, in which nothing is a link: those are written as in markdown (SARIF 2.1.0, 3.11.6)."""
    return {"text": text.replace("](", "] (")}


def _in_a_file(at: Place) -> bool:
    """Whether it stands in a file of the user's; stock data that ships with blockcheck is in no repository."""
    return not at.file.startswith("stock:")
