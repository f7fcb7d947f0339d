"""What every answer can do, whatever it answers: print as text, be JSON, show as a table in a notebook.

The rooms that write formats lie above this one, and no answer imports them. The root of the package, which lies above
both, hands them in with ``made_by`` when it is imported, which is before anything inside it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

Made = Mapping[str, Callable[[], str | bytes]]
"""Name of a format -> what makes it."""

_formats: Callable[[Answer], Made] | None = None


def made_by(formats: Callable[[Answer], Made]) -> None:
    """Tell answers who makes their formats."""
    global _formats
    _formats = formats


class Answer:
    """What a command answers. It is frozen, prints as the command's text, and shows as a table in a notebook.

    Quantities are in the units that the names of the fields end with: ``_a`` amperes, ``_v`` volts, ``_ohm`` ohms,
    ``_m`` metres, ``_mm`` millimetres, ``_s`` seconds, ``_f`` farads. None is what a missing datum leaves unknown.
    """

    __slots__ = ()

    command: ClassVar[str]
    """The command that answers so; that of ``blockcheck channels`` is ``channels``."""

    @property
    def formats(self) -> tuple[str, ...]:
        """The formats that ``render`` has for it."""
        return tuple(_made(self))

    def to_dict(self) -> dict[str, Any]:
        """What ``--format json`` writes: plain dictionaries, lists, text and numbers, described by its JSON schema.

        ``"format"`` is the version of that form. Raises CallError where the command has no JSON, as that of ``book``.
        """
        import json

        made = _made(self)
        if "json" not in made:
            from blockcheck.core.errors import CallError

            raise CallError(f"{self.command} has no JSON", "take what it is made of, such as book.check.to_dict()")
        found: dict[str, Any] = json.loads(made["json"]())
        return found

    def __str__(self) -> str:
        made = _made(self)
        text = made.get("text", next(iter(made.values())))  # without one, what the command writes where none is named
        return str(text()).removesuffix("\n")  # print writes that

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:  # noqa: ARG002 - as IPython calls it
        """What IPython shows where it has nothing but text."""
        printer.text(str(self) if "text" in self.formats else f"<{self.command}: {', '.join(self.formats)}>")

    def _repr_markdown_(self) -> str | None:
        return self._shown("markdown")

    def _repr_svg_(self) -> str | None:
        return self._shown("svg")

    def _shown(self, format_: str) -> str | None:
        """What a notebook shows; None where it is to take something else."""
        made = _made(self)
        return str(made[format_]()) if format_ in made else None


def _made(answer: Answer) -> Made:
    assert _formats is not None, "the root of the package hands it in"
    return _formats(answer)
