"""Which defaults an answer rests on, for people and for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from blockcheck.render.json_v1 import Json
from blockcheck.render.style import Style

if TYPE_CHECKING:
    from blockcheck.analysis.defaults import Default

_MOST = 5


def defaults_value(defaults: Sequence[Default]) -> list[Json]:
    """As the schemas of the answers have it."""
    return [{"key": one.key, "value": one.value, "why": one.why, "of": list(one.of)} for one in defaults]


def defaults_lines(defaults: Sequence[Default], style: Style) -> str:
    """One line for each: key, what was taken, of what, and why."""
    lines = [style.wrap(line, "  ", "      ") for line in map(_line, defaults)]
    return "\n".join([style.paint("Left out in the layout, and taken as", "bold"), *lines])


def defaults_markdown(defaults: Sequence[Default]) -> list[str]:
    """A section of a document; none where nothing was left out."""
    return (
        ["\n".join(["Left out in the layout, and taken as:", "", *(f"- {_line(one)}" for one in defaults)])]
        if (defaults)
        else []
    )


def _line(one: Default) -> str:
    names = ", ".join(one.of[:_MOST]) + (f" and {len(one.of) - _MOST} more" if len(one.of) > _MOST else "")
    return f"{one.key}: {one.value}{f' for {names}' if names else ''} ({one.why})"
