"""What was not checked, for want of which data: one line a rule and kind of datum."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from blockcheck.answers.document import Column, Table
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import condensed
from blockcheck.core.words import cut_short
from blockcheck.render.style import Style


def unchecked_lines(unchecked: Iterable[Unchecked], style: Style) -> Iterator[str]:
    """As text, with the subjects that it concerns; of many, the first five."""
    for rules, subjects, needs in _groups(unchecked):
        shown = cut_short(subjects, 5)
        yield style.wrap(f"{', '.join(rules)} for {shown}: needs {needs}", "  ", "      ")


def unchecked_table(unchecked: Iterable[Unchecked], title: str = "Not checked") -> Table:
    """As a table, with every subject, those in a row as a range."""
    rows = [(", ".join(rules), ", ".join(condensed(subjects)), needs) for rules, subjects, needs in _groups(unchecked)]
    return Table(title, (Column("rule"), Column("of", "subjects"), Column("needs")), rows)


def _groups(unchecked: Iterable[Unchecked]) -> Iterator[tuple[list[str], tuple[str, ...], str]]:
    """Rules, subjects, and the kind of datum that is missing: those that lack the same stand together."""
    groups: dict[tuple[str, str], list[str]] = {}
    for one in unchecked:
        needs = ", ".join(dict.fromkeys(kind_of_need(need) for need in one.needs))
        groups.setdefault((one.rule, needs), []).append(one.subject)
    merged: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (rule, needs), names in groups.items():
        merged.setdefault((needs, tuple(names)), []).append(rule)
    for (needs, subjects), rules in merged.items():
        yield rules, subjects, needs


def kind_of_need(need: str) -> str:
    """A missing datum with the name left out where it is one of many: ``blocks.*.length``."""
    parts = need.split(".")
    return f"{parts[0]}.*.{'.'.join(parts[2:])}" if len(parts) > 2 and " " not in need else need
