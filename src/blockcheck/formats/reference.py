"""What rules hold and what keys mean, for people: as text, markdown and pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.core.findings import Severity
from blockcheck.formats.escape import for_markdown
from blockcheck.formats.style import Style

if TYPE_CHECKING:
    from blockcheck.answers.explain import KeyAnswer, RuleAnswer
    from blockcheck.formats.html import Html

RULES_LEAD = (
    "Each rule holds one thing of a well-wired layout. Its severity may be set under [rules], or the rule switched "
    "off; a single finding is accepted under [[accept]], with a reason. A rule that lacks its data is not made, and "
    "the answer says so."
)


def list_text(answers: tuple[RuleAnswer, ...], tables: tuple[str, ...], style: Style) -> str:
    """All rules, one line each, by family; and the names of the tables of the language."""
    lines: list[str] = []
    width = max(len(answer.rule) for answer in answers)
    for family in _families(answers):
        lines += ["", style.paint(family, "bold")]
        for answer in answers:
            if answer.family == family:
                head = f"  {answer.rule:<{width}}  {answer.severity:<7}  "
                lines.append(style.wrap(answer.sentence, head, " " * len(head)))
    lines += ["", style.paint("What a layout is written with", "bold")]
    lines.append(style.wrap(", ".join(tables), "  "))
    lines.append(
        style.wrap('"blockcheck explain blocks" tells the keys of one, "blockcheck explain blocks.length" a key.', "  ")
    )
    return "\n".join(lines[1:]) + "\n"


def rules_text(answers: tuple[RuleAnswer, ...], style: Style) -> str:
    """Rules at length."""
    return "\n".join(_rule_text(answer, style) for answer in answers)


def _rule_text(answer: RuleAnswer, style: Style) -> str:
    parts = [
        f"{style.paint(answer.rule, 'bold')}  ({answer.severity}, {answer.family})",
        style.wrap(answer.sentence, "  "),
        style.wrap("Why: " + answer.why, "  "),
        style.wrap("Mend: " + answer.mend, "  "),
    ]
    if answer.needs:
        parts.append(style.wrap("Needs: " + ", ".join(answer.needs), "  "))
    if answer.example is not None:
        example = answer.example
        parts += [
            style.wrap("Breaks it: " + example.says, "  "),
            _marked(example.failing, example.passing),
            "  Keeps it:",
            _marked(example.passing, example.failing),
        ]
    return "\n\n".join(parts) + "\n"


def _marked(text: str, other: str) -> str:
    """A layout with a mark at each line that the other has not."""
    lines = text.splitlines()
    others = set(other.splitlines())
    return "\n".join(f"    {' ' if line in others else '>'} {line}".rstrip() for line in lines)


def key_text(answer: KeyAnswer, style: Style) -> str:
    """One key of the language."""
    parts = [style.paint(answer.key, "bold"), style.wrap(answer.description, "  ")]
    if answer.kind:
        parts.append(style.wrap(f"Written as {answer.kind}.", "  "))
    if answer.choices:
        parts.append(style.wrap("One of " + ", ".join(f'"{choice}"' for choice in answer.choices), "  "))
    if answer.keys:
        width = max(len(one.key) for one in answer.keys)
        parts.append("\n".join(style.wrap(doc, f"  {key:<{width}}  ", " " * (width + 4)) for key, doc in _keys(answer)))
    return "\n\n".join(parts) + "\n"


def rules_markdown(answers: tuple[RuleAnswer, ...]) -> str:
    """Rules at length; of several, by family and with a list of them before."""
    if len(answers) == 1:
        return _rule_markdown(answers[0], "#")
    parts = ["# The rules of blockcheck", RULES_LEAD]
    for family in _families(answers):
        rows = [
            f"| [{one.rule}](#{one.rule}) | {one.severity} | {for_markdown(one.sentence)} |"
            for one in answers
            if one.family == family
        ]
        parts.append("\n".join([f"| {family} | | holds that |", "|---|---|---|", *rows]))
    for family in _families(answers):
        parts.append(f"## {family.capitalize()}")
        parts += [_rule_markdown(one, "###").rstrip("\n") for one in answers if one.family == family]
    return "\n\n".join(parts) + "\n"


def _rule_markdown(answer: RuleAnswer, heading: str) -> str:
    parts = [
        f"{heading} {answer.rule}",
        f"*{answer.severity}, {answer.family}*",
        for_markdown(answer.sentence),
        f"**Why:** {for_markdown(answer.why)}",
        f"**Mend:** {for_markdown(answer.mend)}",
    ]
    if answer.needs:
        parts.append(f"**Needs:** {', '.join(f'`{need}`' for need in answer.needs)}")
    if answer.example is not None:
        example = answer.example
        parts += [
            f"**Breaks it:** {for_markdown(example.says)}",
            f"```toml\n{example.failing}```",
            "**Keeps it:**",
            f"```toml\n{example.passing}```",
        ]
    return "\n\n".join(parts) + "\n"


def key_markdown(answer: KeyAnswer) -> str:
    """One key of the language."""
    parts = [f"# `{answer.key}`", for_markdown(answer.description)]
    parts += [f"Written as {for_markdown(answer.kind)}."] if answer.kind else []
    parts += [f"One of {', '.join(f'`{choice}`' for choice in answer.choices)}."] if answer.choices else []
    if answer.keys:
        rows = [f"| `{key}` | {for_markdown(doc)} |" for key, doc in _keys(answer)]
        parts.append("\n".join(["| key | |", "|---|---|", *rows]))
    return "\n\n".join(parts) + "\n"


def rules_html(answers: tuple[RuleAnswer, ...]) -> str:
    """Rules at length, as a page; of several, by family and with a list of them before."""
    from blockcheck.formats.html import anchor, element, header, joined, page

    if len(answers) == 1:
        (one,) = answers
        return page(one.rule, [header(one.rule, one.sentence, "Rule"), _rule_html(one, heading=False)])
    parts: list[Html] = [header("The rules of blockcheck", "What is checked, why, and how to mend it", "Reference")]
    parts.append(element("p", RULES_LEAD, class_="lead"))
    for family in _families(answers):
        items = [
            element("li", element("a", one.rule, href=f"#{anchor(one.rule)}"), f": {one.sentence}")
            for one in answers
            if one.family == family
        ]
        parts += [element("h3", family.capitalize()), element("ul", *items)]
    for family in _families(answers):
        parts.append(element("h2", family.capitalize()))
        parts.append(joined([_rule_html(one, heading=True) for one in answers if one.family == family], "\n"))
    return page("The rules of blockcheck", parts)


def _rule_html(answer: RuleAnswer, heading: bool) -> Html:
    from blockcheck.formats.html import anchor, badge, element, joined

    parts: list[Html] = [element("h3", answer.rule, id=anchor(answer.rule))] if heading else []
    parts.append(element("p", badge(Severity(answer.severity).value), f" {answer.family}"))
    parts += [element("p", answer.sentence)] if heading else []
    for word, text in (("Why", answer.why), ("Mend", answer.mend), ("Needs", ", ".join(answer.needs))):
        if text:
            parts.append(element("p", element("strong", f"{word}: "), text))
    if answer.example is not None:
        example = answer.example
        parts += [
            element("p", element("strong", "Breaks it: "), example.says),
            _code(example.failing, example.passing),
            element("p", element("strong", "Keeps it:")),
            _code(example.passing, example.failing),
        ]
    return joined([element("section", joined(parts, "\n"))])


def _code(text: str, other: str) -> Html:
    """A layout with the lines set bold that the other has not."""
    from blockcheck.formats.html import element, raw

    others = set(other.splitlines())
    lines = [line if line in others else element("strong", line) for line in text.splitlines()]
    pieces = [piece for line in lines for piece in (line, raw("\n"))]
    return element("pre", element("code", *pieces), tabindex=0)


def key_html(answer: KeyAnswer) -> str:
    """One key of the language, as a page."""
    from blockcheck.formats.html import element, header, page

    parts: list[Html] = [header(answer.key, answer.description, "Key of the layout language")]
    parts += [element("p", f"Written as {answer.kind}.")] if answer.kind else []
    parts += (
        [element("p", "One of ", ", ".join(f'"{choice}"' for choice in answer.choices), ".")] if answer.choices else []
    )
    if answer.keys:
        rows = [element("tr", element("th", key, scope="row"), element("td", doc)) for key, doc in _keys(answer)]
        parts.append(element("div", element("table", element("tbody", *rows)), class_="scroll"))
    return page(answer.key, parts)


def _keys(answer: KeyAnswer) -> list[tuple[str, str]]:
    return [(one.key, one.description) for one in answer.keys]


def _families(answers: tuple[RuleAnswer, ...]) -> list[str]:
    return list(dict.fromkeys(answer.family for answer in answers))
