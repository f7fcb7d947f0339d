"""What explains the readings, for people and for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.answers.document import CAUTION, Cell
from blockcheck.core.words import listed, plural
from blockcheck.formats.escape import for_markdown
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.style import Style
from blockcheck.formats.table import markdown_table

if TYPE_CHECKING:
    from blockcheck.answers.trace import Candidate, NextTest, Told, TraceAnswer

MOST_READINGS = 6


def trace_json(answer: TraceAnswer) -> str:
    """As ``trace.schema.json`` has it."""
    following = answer.next
    return dumps(
        {
            "layout": answer.layout,
            "tolerance": {
                "share": answer.tolerance.share,
                "ohms": answer.tolerance.ohms,
                "volts": answer.tolerance.volts,
            },
            "taken": answer.taken,
            "off": [_told(one) for one in answer.off],
            "candidates": [
                {
                    "rank": one.rank,
                    "faults": [
                        {"fault": fault, "kind": kind, "words": words, "look": look}
                        for fault, kind, words, look in zip(one.faults, one.kinds, one.words, one.look, strict=True)
                    ],
                    "explained": one.explained,
                    "of": one.of,
                    "likelihood": one.likelihood,
                    "readings": [_told(row) for row in one.readings],
                }
                for one in answer.candidates
            ],
            "tied": answer.tied,
            "single": answer.single,
            "pairs": answer.pairs,
            "all_pairs": answer.all_pairs,
            "next": None
            if following is None
            else {
                "id": following.id,
                "title": following.title,
                "do": following.do,
                "red": following.red,
                "black": following.black,
                "predictions": [
                    {"reading": words, "candidates": list(numbers)} for words, numbers in following.predictions
                ],
            },
        }
    )


def _told(one: Told) -> Json:
    return {
        "id": one.id,
        "title": one.title,
        "read": one.read,
        "predicted": one.predicted,
        "expected": one.expected,
        "fits": one.fits,
    }


def verdict(answer: TraceAnswer) -> list[str]:
    """The answer in a sentence or two."""
    if not answer.taken:
        return ["No reading has been filled in yet: make the tests in the order of the sheet, and ask again."]
    found = [f"{plural(answer.taken, 'reading')}, {len(answer.off)} not as expected, within {answer.tolerance.words}."]
    best = answer.candidates[0]
    if answer.all_pairs > answer.pairs:
        found.append(
            f"No single fault explains all. Of {answer.all_pairs:,} pairs of faults that each explain something, the "
            f"{answer.pairs:,} likeliest were looked at: the search was cut short there."
        )
    elif answer.pairs:
        found.append(f"No single fault explains all; {plural(answer.pairs, 'pair')} of faults were looked at too.")
    if answer.right and answer.tied == 1:
        found.append("The wiring is right, as far as these readings tell.")
    elif answer.right:
        words = plural(answer.tied - 1, "fault")
        found.append(f"Nothing speaks against wiring that is right; {words} would read the same so far.")
    elif best.explained < best.of:
        found.append("Nothing that was looked at explains every reading. These come nearest:")
    elif answer.tied > 1:
        found.append(f"{answer.tied} causes explain every reading, and cannot be told apart by them:")
    else:
        found.append("One cause explains every reading:")
    return found


def cause(one: Candidate) -> str:
    """What a candidate says is wrong."""
    if not one.faults:
        return "Nothing is wrong"
    text = "; and ".join(one.words)
    return text[:1].upper() + text[1:]


def look(one: Candidate) -> str:
    """Where to look first."""
    return "; and ".join(one.look)


def facts(one: Candidate) -> str:
    """How well a candidate does."""
    share = one.likelihood * 100
    shown = f"{share:.0f} %" if share >= 1 else "less than 1 %"
    return f"explains {one.explained} of {one.of} readings; likelihood {shown}"


def reading_words(row: Told) -> str:
    """One reading beside its predictions."""
    if not row.fits:
        return f"{row.title}: read {row.read}, but this predicts {row.predicted}"
    return f"{row.title}: read {row.read}, as this predicts ({row.predicted}); right would be {row.expected}"


def next_words(following: NextTest) -> list[str]:
    """The next test, and what each candidate predicts for it."""
    found = [following.do]
    if following.do.endswith("from red to black."):
        found.append(f"Red on {following.red}, black on {following.black}.")
    for words, numbers in following.predictions:
        found.append(f"{words}: candidate {listed([*map(str, numbers)])}")
    return found


def trace_text(answer: TraceAnswer, style: Style) -> str:
    """The candidates, the best first, and the next test."""
    parts = [style.paint(f"Readings of {answer.layout}", "bold"), *(style.wrap(one) for one in verdict(answer))]
    for number, one in enumerate(answer.candidates, 1):
        lines = [style.wrap(cause(one), f"{number:>3}  ", "     ", "bold")]
        lines.append(style.wrap(_ranked(one, answer) + facts(one), "     "))
        if one.look:
            lines.append(style.wrap(f"look first: {look(one)}", "     ", "       "))
        lines += [style.wrap(reading_words(row), "     - ", "       ") for row in one.readings[:MOST_READINGS]]
        if len(one.readings) > MOST_READINGS:
            lines.append(f"     - and {len(one.readings) - MOST_READINGS} more")
        parts.append("\n".join(lines))
    if answer.next is not None:
        lines = [style.paint("Next test", "bold")]
        first, *rest = next_words(answer.next)
        lines.append(style.wrap(f"{answer.next.title} ({answer.next.id})", "  "))
        lines += [style.wrap(first, "  "), *(style.wrap(one, "  - ", "    ") for one in rest)]
        parts.append("\n".join(lines))
    elif answer.tied > 1 and not answer.right:
        parts.append(style.wrap("No other test tells the leading candidates apart: look at each place in turn."))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _ranked(one: Candidate, answer: TraceAnswer) -> str:
    return "tied first; " if one.rank == 1 and answer.tied > 1 else ""


def trace_markdown(answer: TraceAnswer) -> str:
    """A markdown document."""
    rows: list[list[Cell]] = [
        [number, one.rank, cause(one), f"{one.explained} of {one.of}", f"{one.likelihood * 100:.0f} %", look(one)]
        for number, one in enumerate(answer.candidates, 1)
    ]
    parts = [f"# Readings of {for_markdown(answer.layout)}", *map(for_markdown, verdict(answer))]
    if rows:
        parts.append(markdown_table(["candidate", "rank", "cause", "explains", "likelihood", "look first"], rows))
    for number, one in enumerate(answer.candidates, 1):
        if one.readings:
            parts.append(f"## Candidate {number}")
            table: list[list[Cell]] = [
                [row.title, row.read, row.predicted, row.expected, "yes" if row.fits else "no"] for row in one.readings
            ]
            parts.append(markdown_table(["test", "read", "predicted", "right would be", "fits"], table))
    if answer.next is not None:
        lines = [f"- {for_markdown(one)}" for one in next_words(answer.next)]
        parts += ["## Next test", for_markdown(answer.next.title), "\n".join(lines)]
    return "\n\n".join([*parts, CAUTION]) + "\n"


def trace_html(answer: TraceAnswer) -> str:
    """A page."""
    from blockcheck.answers.document import Table
    from blockcheck.formats import html

    parts = [html.header("Readings explained", answer.layout), html.paragraphs(verdict(answer), "lead")]
    for number, one in enumerate(answer.candidates, 1):
        readings = Table(
            "",
            ["test", "read", "predicted", "right would be", "fits"],
            [[row.title, row.read, row.predicted, row.expected, "yes" if row.fits else "no"] for row in one.readings],
        )
        parts.append(
            html.element(
                "section",
                html.element("h3", f"{number}  {cause(one)}"),
                html.element("p", _ranked(one, answer) + facts(one), class_="muted"),
                html.element("p", html.element("b", "Look first: "), look(one)) if one.look else None,
                html.table_html(readings) if one.readings else None,
                class_="card",
            )
        )
    if answer.next is not None:
        words = [html.element("li", one) for one in next_words(answer.next)]
        parts += [html.element("h2", "Next test"), html.element("p", answer.next.title), html.element("ul", *words)]
    return html.page(f"Readings: {answer.layout}", [*parts, html.caution(CAUTION)])
