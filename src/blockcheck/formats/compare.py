"""What a change does: for people, for a pull request, and for other programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from attrs import frozen

from blockcheck.answers.document import CAUTION, Cell, Column, Table
from blockcheck.answers.lacking import unchecked_lines
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Place
from blockcheck.core.words import listed, plural
from blockcheck.formats.escape import for_markdown, for_text
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.style import Style
from blockcheck.formats.table import csv_of, markdown_parts, text_of
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show

if TYPE_CHECKING:
    from blockcheck.answers.compare import BudgetChange, CompareAnswer, FindingChange, LabelChange, ValueChange

FIRST = "Switch every booster off, and pull its plug, before a wire is touched."
PANEL = "A wire that is cut needs two more lengths to the panel and back; that way is not in the layout."
_TASKS = {
    "mount": "Boards, switches and boosters to mount",
    "lay": "Track to lay",
    "set": "Settings",
    "gap": "Rails to cut and to bridge",
    "run": "Feeds and common wires to add first",
    "move": "Wires to cut, join and move",
    "replace": "To make anew, or to another length",
    "add": "Wires and parts to add",
    "remove": "Wires to remove",
    "take away": "Parts and track to take away",
    "number": "Tell the computer",
}
_TESTS = {
    "gap": "Gaps",
    "frog": "Frogs",
    "short": "Short test, district by district",
    "volts": "Volts",
    "block": "Detection, block by block",
    "channel": "Channels that are free now",
    "isolator": "Switches",
}
_QUANTITIES = {
    "voltage": "volts",
    "short": "least short",
    "detection": "smallest vehicle",
    "false": "empty block",
}
_WIDEST = 32
"""Characters of the names in a table."""
_MANY = {"harness": "harnesses"}
_LONG = 8
"""Rows that a pull request shows without folding."""


def compare_json(answer: CompareAnswer) -> str:
    """As ``compare.schema.json`` has it."""
    return dumps(
        {
            "old": answer.old,
            "new": answer.new,
            "wiring_differs": answer.wiring_differs,
            "changes": [
                {
                    "kind": one.kind,
                    "name": one.subject,
                    "what": one.what,
                    "key": one.key,
                    "before": one.before,
                    "after": one.after,
                    "wiring": one.wiring,
                }
                for one in answer.changes
            ],
            "bench": [
                {
                    "task": one.task,
                    "what": one.what,
                    "wire": one.wire,
                    "do": one.does,
                    "before": list(one.before),
                    "after": list(one.after),
                    "blocks": list(one.blocks),
                }
                for one in answer.steps
            ],
            "labels": [{"text": one.text, "at": one.at, "print": one.print} for one in answer.labels],
            "tests": [
                {"kind": one.kind, "subject": one.subject, "do": one.do, "expect": one.expect} for one in answer.tests
            ],
            "findings": {
                "appear": [_finding(one) for one in answer.appear],
                "gone": [_finding(one) for one in answer.gone],
            },
            "unchecked": {
                "appear": [
                    {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)}
                    for one in answer.unchecked_appear
                ],
                "gone": [
                    {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)}
                    for one in answer.unchecked_gone
                ],
            },
            "budgets": [
                {
                    "scenario": one.scenario,
                    "kind": one.kind,
                    "name": one.name,
                    "before": one.before_a,
                    "after": one.after_a,
                    "limit_before": one.limit_before_a,
                    "limit_after": one.limit_after_a,
                    "bound": one.bound,
                }
                for one in answer.budgets
            ],
            "margin": answer.margin,
            "values": [
                {
                    "block": one.block,
                    "quantity": one.quantity,
                    "unit": one.unit,
                    "before": one.before,
                    "after": one.after,
                    "at": one.at_m,
                    "limit": one.limit,
                    "worse": one.worse,
                    "bound": one.bound,
                }
                for one in answer.values
            ],
        }
    )


def _finding(one: FindingChange) -> Json:
    finding = one.finding
    assert isinstance(finding.at, Place)
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "subject": finding.subject,
        "with": list(finding.others),
        "message": finding.message,
        "help": finding.help,
        "file": finding.at.file,
        "line": finding.at.line,
        "column": finding.at.column,
        "fingerprint": finding.fingerprint,
        "because": one.because,
    }


def title(answer: CompareAnswer) -> str:
    """What is compared."""
    return answer.new if answer.old == answer.new else f"{answer.old}, and {answer.new}"


def summary(answer: CompareAnswer) -> str:
    """A few sentences: what comes and goes in the wiring, and what that does to the findings."""
    if not answer.changes:
        return "No change to the wiring, and none to anything else that the layout says."
    return " ".join(_sentences(answer))


def _sentences(answer: CompareAnswer) -> Iterator[str]:
    if not answer.wiring_differs:
        yield "No change to the wiring" + ("; labels change." if answer.labels else ".")
    for what, word in (("added", "New"), ("gone", "Gone"), ("renamed", "Perhaps renamed")):
        counts: dict[str, int] = {}
        for change in answer.changes:
            if change.what == what and (change.wiring or what == "renamed"):
                counts[change.kind] = counts.get(change.kind, 0) + 1
        if counts:
            words = [plural(count, kind, _MANY.get(kind)) for kind, count in counts.items()]
            yield f"{word}: {listed(words)}."
    changed: dict[str, list[str]] = {}
    for one in answer.changes:
        if one.what == "changed" and one.wiring:
            changed.setdefault(one.kind, []).append(one.subject)
    words = [
        f"{kind if len(set(names)) == 1 else _MANY.get(kind, f'{kind}s')} {_few(names)}"
        for kind, names in changed.items()
    ]
    if words:
        yield f"Changed: {'; '.join(words)}."
    appear, gone = len(answer.appear), len(answer.gone)
    if appear or gone:
        comes = f"{plural(appear, 'finding appears', 'findings appear')}" if appear else "No finding appears"
        yield f"{comes}, {gone or 'none'} {'go' if gone > 1 else 'goes'}."
    else:
        yield "No finding appears, and none goes."
    over = [f"{one.kind} {one.name}" for one in answer.budgets if one.over and not one.same]
    if over:
        yield f"OVER its limit: {listed(list(dict.fromkeys(over)))}."
    worse = condensed(one.block for one in answer.values if one.worse)
    if worse:
        yield f"Some computed values get worse, in {listed(worse)}."


@frozen
class Part:
    """A part of the answer, whatever the format: sentences, then a table, a list of things to tick, or findings."""

    heading: str
    lead: tuple[str, ...] = ()
    table: Table | None = None
    todo: Table | None = None
    """Rows of what, and what to do or to expect."""
    findings: tuple[FindingChange, ...] = ()
    lines: tuple[str, ...] = ()
    level: int = 2


def parts(answer: CompareAnswer) -> Iterator[Part]:
    """What changes and what that does; then what to do, to label and to test; then what no wire is touched for."""
    wiring, words = _changes(answer, True), _changes(answer, False)
    if wiring.rows:
        yield Part("What changes in the wiring", table=wiring)
    yield from _effects(answer)
    if answer.steps:
        yield Part("At the bench", (FIRST, *_notes(answer)))
        for task, heading in _TASKS.items():
            rows = [(one.what, one.does) for one in answer.steps if one.task == task]
            if rows:
                yield Part(heading, todo=Table(heading, ("what", "do"), rows), level=3)
    for wanted, heading in ((True, "Labels to print"), (False, "Labels to take off")):
        labels = list(_by_piece([one for one in answer.labels if one.print is wanted]))
        if labels:
            yield Part(heading, table=Table(heading, ("label", "at the other end, or where it sits"), labels))
    if answer.tests:
        yield Part("Tests to repeat", ("In this order: each relies on the ones before it.",))
    tests: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for one in answer.tests:
        tests.setdefault((one.kind, one.do), []).append((one.subject, one.expect))
    for (kind, do), found in tests.items():
        heading = _TESTS[kind]
        sentence = f"{do[0].upper()}{do[1:]}."
        yield Part(heading, (sentence,), todo=Table(heading, ("what", "expect"), found), level=3)
    if words.rows:
        yield Part(words.title, table=words)


def _by_piece(labels: Sequence[LabelChange]) -> Iterator[tuple[str, str]]:
    """A row a piece of wire, with the labels of both its ends; other labels with where they sit."""
    left = list(reversed(labels))
    while left:
        one = left.pop()
        here, sign, there = one.text.partition(" > ")
        other, _, back = left[-1].text.partition(" > ") if left else ("", "", "")
        if sign and back and other.endswith(there) and here.endswith(back):  # a wire of a run begins with its mark
            yield one.text, left.pop().text
        else:
            yield one.text, one.at


def _effects(answer: CompareAnswer) -> Iterator[Part]:
    """What the change does to findings, currents and volts."""
    for heading, findings in (("Findings that appear", answer.appear), ("Findings that go", answer.gone)):
        if findings:
            yield Part(heading, findings=findings)
    for heading, unchecked in (
        ("No longer checked", answer.unchecked_appear),
        ("Checked from now on", answer.unchecked_gone),
    ):
        if unchecked:
            yield Part(heading, lines=tuple(unchecked_lines(unchecked)))
    budgets = _budgets(answer)
    if budgets.rows:
        yield Part("Budgets", table=budgets)
    for worse, word in ((True, "Worse"), (False, "Better")):
        values = _values(answer, worse, f"{word} by more than {answer.margin * 100:g} %")
        if values.rows:
            yield Part(values.title, ("At the worst place of the block, as the layout usually stands.",), table=values)


def _changes(answer: CompareAnswer, wiring: bool) -> Table:
    """The changes as rows, those that say the same of several things on one."""
    together: dict[tuple[str, str, str | None, str | None, str | None], list[str]] = {}
    for one in answer.changes:
        if one.wiring is wiring:
            together.setdefault((one.kind, one.what, one.key, one.before, one.after), []).append(one.subject)
    rows = [
        (kind, _few(names), _said(what, key, before, after))
        for (kind, what, key, before, after), names in together.items()
    ]
    heading = "What changes in the wiring" if wiring else "What else is said differently"
    return Table(heading, ("what", "name", "change"), rows)


def _said(what: str, key: str | None, before: str | None, after: str | None) -> str:
    if what == "renamed":
        return f"perhaps renamed: it was {before}"
    if what == "changed":
        return f"{str(key).replace('_', ' ')}: {before or 'none'} -> {after or 'none'}"
    told = after if what == "added" else before
    return ("new" if what == "added" else "gone") + (f": {told}" if told else "")


def _few(names: Sequence[str]) -> str:
    """Names, as many as a column of a table bears; each stands among the things to do."""
    short = condensed(names)
    kept = list(short[:1])
    for name in short[1:]:
        if len(", ".join((*kept, name))) > _WIDEST:
            return f"{', '.join(kept)} and {len(short) - len(kept)} more"
        kept.append(name)
    return ", ".join(kept)


def _notes(answer: CompareAnswer) -> Iterator[str]:
    """What to mind where a terminal changes hands, and where a wire that is there already gets a switch."""
    left = {one.before[0] for one in answer.steps if one.wire == "bus" and one.before[:1] not in ((), one.after[:1])}
    put_on = [one for one in answer.steps if one.wire == "bus" and one.after[:1] not in ((), one.before[:1])]
    handed = condensed(one.after[0] for one in put_on if one.after[0] in left)
    if handed:
        gets = "gets another wire" if len(handed) == 1 and "-" not in handed[0] else "get other wires"
        yield f"{listed(handed)} {gets}: take all ends off, and mark them, before one is put on."
    if any(one.task in ("move", "replace") and len(one.after) > len(one.before) > 0 for one in answer.steps):
        yield PANEL


def _budgets(answer: CompareAnswer) -> Table:
    rows = [
        (
            one.scenario or "as usual",
            one.kind,
            one.name,
            _amps(one.before_a, one.bound),
            _amps(one.after_a, one.bound),
            _limit_of(one),
            "-" if one.after_a is None else "OVER" if one.over else "fits",
        )
        for one in answer.budgets
        if not one.same
    ]
    return Table("Budgets", ("scenario", "what", "name", "before", "after", "may carry", "then"), rows)


def _amps(value: float | None, bound: bool = False) -> str:
    return "-" if value is None else ("at least " if bound else "") + show(value, DIMENSIONS[Amperes])


def _limit_of(one: BudgetChange) -> str:
    before, after = _amps(one.limit_before_a), _amps(one.limit_after_a)
    return after if None in (one.limit_before_a, one.limit_after_a) or before == after else f"{after} (was {before})"


def _values(answer: CompareAnswer, worse: bool, heading: str) -> Table:
    """Rows, those that say the same of several blocks on one."""
    together: dict[tuple[str, ...], list[str]] = {}
    for one in answer.values:
        if one.worse is worse:
            at = "-" if one.at_m is None else show(one.at_m, DIMENSIONS[Metres], answer.imperial)
            at = "near end" if one.at_m == 0 else at
            bound = " (a bound)" if one.bound else ""
            before, after = _amount(one, one.before), _amount(one, one.after) + bound
            key = (_QUANTITIES[one.quantity], before, after, at, _limit(one))
            together.setdefault(key, []).append(one.block)
    rows = [(_few(blocks), *key) for key, blocks in together.items()]
    return Table(heading, ("block", "value", "before", "after", "at", "limit"), rows)


def _amount(one: ValueChange, value: float | None) -> str:
    return "not computed" if value is None else show(value, DIMENSIONS[Volts if one.unit == "V" else Amperes])


def _limit(one: ValueChange) -> str:
    if one.limit is None:
        return "-"
    words = {"voltage": "at least", "short": "trips at", "detection": "reads from", "false": "reads from"}
    return f"{words[one.quantity]} {_amount(one, one.limit)}"


def compare_text(answer: CompareAnswer, style: Style) -> str:
    """The answer for a terminal."""
    found = [style.paint(title(answer), "bold"), style.wrap(summary(answer))]
    for part in parts(answer):
        if part.level == 2:
            found.append(style.paint(part.heading, "bold"))
        lines = [f"{part.heading}:"] if part.level != 2 else []
        lines += [style.wrap(sentence) for sentence in part.lead]
        if part.table is not None:
            lines += [*([""] if part.lead else []), text_of(part.table, style, titled=False)]
        if part.todo is not None:
            lines += _ticks(part, style)
        for one in part.findings:
            lines += _finding_text(one, style)
        lines += [style.wrap(line, "  ", "      ") for line in part.lines]
        found += ["\n".join(lines)] if lines else []
    if answer.changes:
        found.append(style.wrap(CAUTION))
    return "\n\n".join(found) + "\n"


def _ticks(part: Part, style: Style) -> Iterator[str]:
    assert part.todo is not None
    tests = part.todo.headers[1].title == "expect"
    width = max(len(str(row[0])) for row in part.todo.rows)
    for what, do in part.todo.rows:
        if tests:
            yield style.wrap(f"[ ] {what!s:<{width}}  {do}", "  ", " " * (min(width, 30) + 8))
        else:
            yield style.wrap(f"[ ] {do}", "  ", "      ")


def _finding_text(one: FindingChange, style: Style) -> Iterator[str]:
    finding = one.finding
    yield f"  {style.severity(finding.severity)}  {finding.rule}  {for_text(_names(one))}"
    yield style.wrap(finding.message, "    ")
    yield f"    {for_text(_where(one))}"
    if one.because is not None:
        yield style.wrap(f"the other layout accepts it: {one.because}", "    ")


def _names(one: FindingChange) -> str:
    others = one.finding.others
    more = f" and {len(others) - 4} more" if len(others) > 4 else ""
    return ", ".join((one.finding.subject, *others[:4])) + more


def _where(one: FindingChange) -> str:
    at = one.finding.at
    assert isinstance(at, Place)
    return f"{at.file}:{at.line}:{at.column}"


def compare_markdown(answer: CompareAnswer) -> str:
    """A markdown document for a pull request: long parts are folded, things to do are boxes to tick."""
    found = [f"# {for_markdown(title(answer))}: what the change does", for_markdown(summary(answer))]
    for part in parts(answer):
        body, rows = [for_markdown(sentence) for sentence in part.lead], 0
        if part.table is not None:
            body += list(markdown_parts(part.table))[1:]
            rows = len(part.table.rows)
        if part.todo is not None:
            tests = part.todo.headers[1].title == "expect"
            boxes = [f"- [ ] {for_markdown(f'{what}: {do}' if tests else str(do))}" for what, do in part.todo.rows]
            body, rows = [*body, "\n".join(boxes)], len(boxes)
        if part.findings:
            body.append("\n".join(map(_bullet, part.findings)))
        if part.lines:
            body.append("\n".join(f"- {for_markdown(line)}" for line in part.lines))
        heading = for_markdown(part.heading)
        if rows > _LONG:
            found += [f"<details>\n<summary><b>{heading}</b> ({rows})</summary>", *body, "</details>"]
        else:
            found += [f"{'#' * part.level} {heading}", *body]
    if answer.changes:
        found.append(CAUTION)
    return "\n\n".join(found) + "\n"


def _bullet(one: FindingChange) -> str:
    finding = one.finding
    because = f" (the other layout accepts it: {for_markdown(one.because)})" if one.because is not None else ""
    names, where = for_markdown(_names(one)), for_markdown(_where(one))
    return f"- **{finding.severity.value}** {finding.rule} {names}: {for_markdown(finding.message)} ({where}){because}"


def compare_csv(answer: CompareAnswer, style: Style) -> str:
    """The things to do at the bench, one a row."""
    return csv_of([_bench(answer)], style)


def compare_xlsx(answer: CompareAnswer) -> bytes:
    """A workbook: the things to do, the tests, and every other table of the answer on a sheet of its own."""
    from blockcheck.formats.xlsx import xlsx_of

    headers = ("kind", "subject", "do", "expect")
    tests = Table("Tests", headers, [(one.kind, one.subject, one.do, one.expect) for one in answer.tests])
    tables = (part.table for part in parts(answer) if part.table is not None)
    return xlsx_of(f"{title(answer)}: what the change does", [_bench(answer), tests, *tables])


def _bench(answer: CompareAnswer) -> Table:
    """The things to do; the ends that a wire passes are told apart by arrows."""
    headers = [Column(one) for one in ("task", "what", "do", "before", "after", "blocks")]
    rows: list[tuple[Cell, ...]] = [
        (one.task, one.what, one.does, " > ".join(one.before), " > ".join(one.after), " ".join(one.blocks))
        for one in answer.steps
    ]
    return Table("At the bench", headers, rows)


def compare_html(answer: CompareAnswer) -> str:
    """A page to print and take along: a box to tick stands at the end of each row of things to do."""
    from attrs import evolve

    from blockcheck.formats.html import Child, badge, caution, element, header, page, paragraphs, table_html

    found: list[Child] = [header("What the change does", title(answer)), element("p", summary(answer), class_="lead")]
    for part in parts(answer):
        level = f"h{part.level}"
        found.append(element(level, part.heading))
        found.append(paragraphs(part.lead) if part.lead else None)
        if part.table is not None:
            found.append(table_html(evolve(part.table, title="")))
        if part.todo is not None:
            rows = [(*row, "\u2610") for row in part.todo.rows]
            found.append(table_html(Table("", (*part.todo.headers, "done"), rows)))
        for one in part.findings:
            finding = one.finding
            because = f" (the other layout accepts it: {one.because})" if one.because is not None else ""
            words = f" {finding.rule}, {_names(one)}: {finding.message}; {_where(one)}{because}"
            found.append(element("p", badge(finding.severity.value), words))
        if part.lines:
            found.append(element("ul", *(element("li", line) for line in part.lines)))
    if answer.changes:
        found.append(caution(CAUTION))
    return page(f"What the change does: {title(answer)}", found)
