"""The test sheet to fill in: as TOML, which trace reads, and as a page to print or to tick off on a tablet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.analysis.bench.instructions import MEASURE
from blockcheck.answers.document import CAUTION
from blockcheck.formats.escape import for_text, for_toml
from blockcheck.formats.marks import SIGNATURE

if TYPE_CHECKING:
    from blockcheck.answers.workshop.bench import BenchAnswer, SheetStep
    from blockcheck.formats import html


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
    setup = {"dead": list(answer.setup.dead), "live": list(answer.setup.live)}
    values = {"format": 1, "layout": answer.layout, "setup": setup, "steps": steps}
    return "\n".join(head) + for_toml(tomli_w.dumps(values, multiline_strings=False))


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
        html.paragraphs(answer.sentences(), "lead"),
        html.caution(CAUTION),
    ]
    for title, setup, steps in answer.stages:
        parts.append(html.element("h2", title))
        parts.append(html.element("ul", *(html.element("li", one) for one in setup), class_="setup"))
        heads = (("tick", ""), ("step", "step"), ("do", "what to do"), ("expect", "expect"), ("read", "read"))
        head = [html.element("th", words, scope="col", class_=name) for name, words in heads]
        body = [_step_row(one) for one in steps]
        parts.append(
            html.element(
                "table",
                html.element("thead", html.element("tr", *head)),
                html.element("tbody", *body),
                class_="steps",
            )
        )
    told = tuple(answer.untold_lines())
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
