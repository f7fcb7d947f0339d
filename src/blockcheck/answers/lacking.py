"""What an answer lacks: what was not checked, for want of which data, and what was taken where the layout is silent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve

from blockcheck.analysis.power.defaults import HOPEFUL, Default
from blockcheck.answers.columns import table
from blockcheck.answers.tables import Column, Table
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import condensed
from blockcheck.core.words import cut_short

LEFT_OUT = "Left out in the layout"
_SHOWN = 5
"""Names that a line of text has; a table has all."""


def unchecked_table(unchecked: Iterable[Unchecked], title: str = "Not checked") -> Table:
    """One row a rule and kind of datum, with every subject, those in a row as a range."""
    groups = list(_groups(unchecked))
    rows = [(", ".join(rules), ", ".join(condensed(subjects)), needs) for rules, subjects, needs in groups]
    headers = (Column("rule", coded=True), Column("of", "subjects"), Column("needs"))
    return Table(title, headers, rows, brief=unchecked_lines(unchecked))


def unchecked_lines(unchecked: Iterable[Unchecked]) -> Iterator[str]:
    """A line a rule and kind of datum, with the subjects that it concerns; of many, the first few."""
    for rules, subjects, needs in _groups(unchecked):
        yield f"{', '.join(rules)} for {cut_short(condensed(subjects), _SHOWN)}: needs {needs}"


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


def taken(defaults: Iterable[Default]) -> Table:
    """Key, what was taken, of what, and why."""
    found = tuple(defaults)
    return evolve(table(LEFT_OUT, Default, found), brief=map(_line, found))


def in_brief(defaults: Iterable[Default]) -> Iterator[str]:
    """What was taken for granted, the gravest first, and which way it errs: ``boosters, isolators 0 ohm (more is
    worse)``."""
    alike: dict[tuple[str, str], dict[str, None]] = {}
    for one in sorted((one for one in defaults if one.key in HOPEFUL), key=lambda one: list(HOPEFUL).index(one.key)):
        what, value, worse = HOPEFUL[one.key]
        alike.setdefault((value.format(one.value), worse), {})[what] = None
    for (value, worse), whats in alike.items():
        yield f"{', '.join(whats)} {value} ({worse})"


def _line(one: Default) -> str:
    names = f" for {cut_short(one.of, _SHOWN)}" if one.of else ""
    return f"{one.key}: {one.value}{names} ({one.why})"
