"""Which defaults an answer rests on, for people and for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from blockcheck.answers.document import Column, Table
from blockcheck.core.words import cut_short
from blockcheck.render.json_v1 import Json
from blockcheck.render.style import Style

if TYPE_CHECKING:
    from blockcheck.analysis.defaults import Default

LEFT_OUT = "Left out in the layout"
_MOST = 5


def defaults_value(defaults: Sequence[Default]) -> list[Json]:
    """As the schemas of the answers have it."""
    return [{"key": one.key, "value": one.value, "why": one.why, "of": list(one.of)} for one in defaults]


def defaults_lines(defaults: Sequence[Default], style: Style) -> str:
    """One line for each: key, what was taken, of what, and why."""
    lines = [style.wrap(line, "  ", "      ") for line in map(_line, defaults)]
    return "\n".join([style.paint("Left out in the layout, and taken as", "bold"), *lines])


def defaults_table(defaults: Sequence[Default]) -> Table:
    """Key, what was taken, of what, and why."""
    rows = [(one.key, one.value, ", ".join(one.of), one.why) for one in defaults]
    return Table(LEFT_OUT, ("key", Column("taken as", "value"), Column("of"), Column("why")), rows)


def _line(one: Default) -> str:
    names = cut_short(one.of, _MOST)
    return f"{one.key}: {one.value}{f' for {names}' if names else ''} ({one.why})"
