"""The test sheet for people, for print, for filling in, and for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.answers.document import CAUTION, Column, Sheet, Table
from blockcheck.answers.lacking import unchecked_table
from blockcheck.core.words import plural
from blockcheck.formats.escape import for_text, for_toml
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.marks import SIGNATURE
from blockcheck.formats.style import Style
from blockcheck.formats.text import part_text

if TYPE_CHECKING:
    from blockcheck.answers.bench import BenchAnswer, SheetStep
    from blockcheck.formats import html

STAGES = (("dead", "Dead: no power"), ("live", "Live: power on"))
MEASURE = "Measure the resistance from red to black."
MOST_TOLD = 8
"""More groups of faults that cannot be told apart are not printed; JSON has them all."""


def bench_json(answer: BenchAnswer) -> str:
    """As ``bench.schema.json`` has it."""
    return dumps(
        {
            "layout": answer.layout,
            "tolerance": {
                "share": answer.tolerance.share,
                "ohms": answer.tolerance.ohms,
                "volts": answer.tolerance.volts,
            },
            "axle": answer.axle_ohm,
            "setup": {"dead": list(answer.dead), "live": list(answer.live)},
            "steps": [_step(one) for one in answer.steps],
            "faults": [{"fault": one, "words": words} for one, words in answer.faults.items()],
            "unseen": list(answer.unseen),
            "untold": [{"fault": one.fault, "others": list(one.others)} for one in answer.untold],
            "tests": answer.pool,
            "only": answer.only,
            "changed": None if answer.changed is None else list(answer.changed),
            "unchecked": [
                {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked
            ],
        }
    )


def _step(one: SheetStep) -> Json:
    return {
        "step": one.number,
        "id": one.id,
        "stage": one.stage,
        "kind": one.kind,
        "group": one.group,
        "title": one.title,
        "do": one.do,
        "red": one.red,
        "black": one.black,
        "expect": one.expect,
        "value": one.value,
        "low": one.low,
        "high": one.high,
        "names": None if one.names is None else list(one.names),
        "current": one.amperes,
    }


_DATA = (
    Column("step"),
    Column("id"),
    Column("stage"),
    Column("group"),
    Column("do"),
    Column("red"),
    Column("black"),
    Column("expect"),
    Column("low", always=True),
    Column("high", always=True),
    Column("reading", always=True),
)
_SHEET = (
    Column("step"),
    Column("what to do"),
    Column("red"),
    Column("black"),
    Column("expect"),
    Column("read", always=True),
)


def bench_sheet(answer: BenchAnswer) -> Sheet:
    """The steps as tables: one a stage for people, one of all for programs; low and high in ohms or volts."""
    tables = []
    for stage, title in STAGES:
        mine = [one for one in answer.steps if one.stage == stage]
        rows = [(one.number, f"{one.title}. {one.do}", *_probes(one), one.expect, None) for one in mine]
        tables += [Table(title, _SHEET, rows)] if mine else []
    told = untold_lines(answer)
    tables += [Table("What the sheet cannot tell", ("",), (), tuple(told))] if told else []
    if answer.unchecked:
        tables.append(unchecked_table(answer.unchecked, "Known only as connected or not, for want of data"))
    data = [
        (one.number, one.id, one.stage, one.group, one.do, one.red, one.black, one.expect, one.low, one.high, None)
        for one in answer.steps
    ]
    lead = [*sentences(answer), CAUTION]
    for stage, setup in (("dead", answer.dead), ("live", answer.live)):
        if any(one.stage == stage for one in answer.steps):
            lead.append(f"Before the {stage} tests: {' '.join(setup)}")
    return Sheet("Test sheet", answer.layout, tuple(tables), tuple(lead), (), data=(Table("Test sheet", _DATA, data),))


def bench_toml(answer: BenchAnswer) -> str:
    """The sheet to fill in: what ``trace`` reads."""
    import tomli_w

    head = [
        f"# {SIGNATURE}, which writes it anew only while no reading stands in it.",
        f"# Readings of {for_text(answer.layout)}. Fill in, save, and ask: blockcheck trace LAYOUT THIS-FILE",
        '# Write what was read, with its unit: "46 mohm", "14.2 V", "open"; channels or breakers by name: "D1.3",',
        '# "D1.3, D1.4", "none". "ok" stands for what is expected. What was not read stays "".',
        f"# {CAUTION}",
        "",
    ]
    steps = [
        {
            "id": one.id,
            "do": one.do,
            "red": one.red,
            "black": one.black,
            "expect": one.expect,
            "reading": "",
        }
        for one in answer.steps
    ]
    setup = {"dead": list(answer.dead), "live": list(answer.live)}
    values = {"format": 1, "layout": answer.layout, "setup": setup, "steps": steps}
    return "\n".join(head) + for_toml(tomli_w.dumps(values, multiline_strings=False))


def sentences(answer: BenchAnswer) -> list[str]:
    """What the sheet does and does not do, in words."""
    found = []
    if answer.only is not None:
        found.append(f"Narrowed to group {answer.only}.")
    if answer.changed is not None:
        names = ", ".join(answer.changed)
        found.append(
            f"Narrowed to what has changed: {names}." if names else "Nothing has changed that could be tested."
        )
    if answer.steps:
        found.append(
            f"{plural(len(answer.steps), 'step')} of {answer.pool} that could be made look for "
            f"{plural(len(answer.faults), 'single fault')}, and tell each from every other where any test can."
        )
        found.append(f"Readings are right within {answer.tolerance.words}.")
    return found


def untold_lines(answer: BenchAnswer) -> list[str]:
    """What no test sees or tells apart, in words."""
    found = []
    if answer.unseen:
        found.append("No test tells these from wiring that is right: " + _words(answer, answer.unseen) + ".")
    lines, done = list[str](), set[frozenset[str]]()
    for one in answer.untold:  # each pair once
        others = tuple(other for other in one.others if frozenset((one.fault, other)) not in done)
        done |= {frozenset((one.fault, other)) for other in others}
        if others:
            lines.append(f"{_first(answer.faults[one.fault])} - looks like: {_words(answer, others)}")
    if lines:
        found.append("No test tells these apart, within the tolerance:")
        found += lines[:MOST_TOLD]
    if len(lines) > MOST_TOLD:
        found.append(f"and {len(lines) - MOST_TOLD} more such; --format json lists all")
    return found


def _words(answer: BenchAnswer, faults: tuple[str, ...]) -> str:
    shown = [answer.faults[one] for one in faults[:4]]
    more = len(faults) - len(shown)
    return "; ".join(shown) + (f"; and {more} more" if more > 0 else "")


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]


def bench_text(answer: BenchAnswer, style: Style) -> str:
    """The sheet in plain text, to read or to print."""
    parts = [style.paint(f"Test sheet: {answer.layout}", "bold")]
    parts += [style.wrap(one) for one in sentences(answer)]
    parts.append(style.wrap(CAUTION))
    for stage, title in STAGES:
        mine = [one for one in answer.steps if one.stage == stage]
        if not mine:
            continue
        parts.append(style.paint(title, "bold"))
        setup = answer.dead if stage == "dead" else answer.live
        parts.append("\n".join(style.wrap(one, "  - ", "    ") for one in setup))
        parts += ["\n".join(_step_lines(one, style)) for one in mine]
    told = untold_lines(answer)
    if told:
        parts.append(style.paint("What the sheet cannot tell", "bold"))
        parts.append("\n".join(style.wrap(one, "  ", "    ") for one in told))
    if answer.unchecked:
        title = "Known only as connected or not, for want of data"
        parts.append(part_text(unchecked_table(answer.unchecked, title), style))
    return "\n\n".join(parts) + "\n"


def _step_lines(one: SheetStep, style: Style) -> list[str]:
    head = f"[ ] {one.number:>3}  "
    lines = [style.wrap(one.title, head, " " * len(head), "bold")]
    if one.do != MEASURE:  # the probes say it
        lines.append(style.wrap(one.do, " " * len(head)))
    if one.kind == "ohms":
        lines.append(style.wrap(f"red: {one.red}", " " * len(head), " " * (len(head) + 5)))
        lines.append(style.wrap(f"black: {one.black}", " " * len(head), " " * (len(head) + 5)))
    lines.append(style.wrap(f"expect: {one.expect}", " " * len(head), " " * (len(head) + 5)))
    lines.append(" " * len(head) + "read: ____________")
    return lines


def _probes(one: SheetStep) -> tuple[str, str]:
    """Where the probes go; for what is laid across the rails the instruction says it."""
    return (one.red, one.black) if one.kind == "ohms" else ("", "")


_SHEET_STYLE = """
table.steps { width: 100%; }
table.steps td { padding: .55rem .7rem .55rem 0; }
table.steps .tick { width: 2.2rem; }
table.steps .tick input { width: 1.5rem; height: 1.5rem; margin: 0; accent-color: #10495f; }
table.steps .step { width: 2.6rem; text-align: right; font-weight: 650; }
table.steps .expect { width: 11rem; font-weight: 650; }
table.steps .read { width: 10rem; }
table.steps .read input { width: 100%; font: inherit; padding: .35rem .4rem; border: 1px solid var(--strong);
  border-radius: .2rem; background: var(--paper); color: var(--ink); }
table.steps .probe { display: block; }
table.steps .probe b { display: inline-block; min-width: 3.2rem; }
table.steps .id { color: var(--muted); font-size: .8rem; }
ul.setup li { margin: .35rem 0; }
@media print {
  table.steps td { padding: 3pt 6pt 3pt 0; }
  table.steps .tick input { width: 11pt; height: 11pt; appearance: none; border: 1pt solid #000; }
  table.steps .read input { border: 0; border-bottom: 1pt solid #000; border-radius: 0; height: 15pt; }
  table.steps .id { font-size: 6.5pt; }
  table.steps .expect { width: 36mm; }
  table.steps .read { width: 34mm; }
}
"""


def bench_html(answer: BenchAnswer) -> str:
    """The sheet as a page, to print or to tick off on a tablet; nothing that is typed into it leaves it."""
    from blockcheck.formats import html

    parts: list[html.Child] = [
        html.raw(f"<style>{_SHEET_STYLE}</style>"),
        html.header("Test sheet", answer.layout),
        html.paragraphs(sentences(answer), "lead"),
        html.caution(CAUTION),
    ]
    for stage, title in STAGES:
        mine = [one for one in answer.steps if one.stage == stage]
        if not mine:
            continue
        setup = answer.dead if stage == "dead" else answer.live
        parts.append(html.element("h2", title))
        parts.append(html.element("ul", *(html.element("li", one) for one in setup), class_="setup"))
        heads = (("tick", ""), ("step", "step"), ("do", "what to do"), ("expect", "expect"), ("read", "read"))
        head = [html.element("th", words, scope="col", class_=name) for name, words in heads]
        body = [_step_row(one) for one in mine]
        parts.append(
            html.element(
                "table",
                html.element("thead", html.element("tr", *head)),
                html.element("tbody", *body),
                class_="steps",
            )
        )
    told = untold_lines(answer)
    if told:
        parts.append(html.element("h2", "What the sheet cannot tell"))
        parts.append(html.element("ul", *(html.element("li", one) for one in told), class_="notes"))
    if answer.unchecked:
        parts.append(html.element("h2", "Known only as connected or not, for want of data"))
        parts.append(
            html.element(
                "ul", *(html.element("li", f"{one.subject}: {', '.join(one.needs)}") for one in answer.unchecked)
            )
        )
    return html.page(f"Test sheet: {answer.layout}", parts)


def _step_row(one: SheetStep) -> html.Html:
    from blockcheck.formats import html

    probes: list[html.Child] = []
    if one.kind == "ohms":
        for colour, words in (("red", one.red), ("black", one.black)):
            probes.append(html.element("span", html.element("b", colour), words, class_="probe"))
    tick = html.raw(f'<input type="checkbox" aria-label="step {one.number} done">')
    read = html.raw(f'<input type="text" aria-label="reading of step {one.number}">')
    do: list[html.Child] = [html.element("br"), one.do] if one.do != MEASURE else []  # else the probes say it
    return html.element(
        "tr",
        html.element("td", tick, class_="tick"),
        html.element("td", str(one.number), class_="step"),
        html.element(
            "td",
            html.element("b", one.title),
            *do,
            *probes,
            html.element("span", one.id, class_="probe id"),
        ),
        html.element("td", one.expect, class_="expect"),
        html.element("td", read, class_="read"),
    )
