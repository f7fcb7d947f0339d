"""How a field of a frozen class says what it holds, so that JSON, schemas and tables can follow from it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs


def column(
    doc: str,
    *,
    title: str | None = None,
    key: str | None = None,
    default: Any = attrs.NOTHING,
    of: Callable[[Any], Any] | None = None,
    choices: tuple[str, ...] = (),
    least: int | None = None,
    **how: Any,
) -> Any:
    """A field of an answer. ``doc`` says what it is, in a sentence for the schema; units are added to that.

    ``title`` stands over the column (the key where it is left out); ``how`` are the other attributes of
    ``answers.tables.Column``.
    A field with ``only="people"`` is in no JSON, CSV or workbook. ``of`` makes it from the fields before it.
    ``choices`` are the words that it may be, ``least`` is the least that a whole number may be.
    """
    said = {"doc": doc, "title": title, "key": key, "choices": choices, "least": least, "how": how}
    if of is not None:
        return attrs.field(default=attrs.Factory(of, takes_self=True), init=False, metadata=said)
    return attrs.field(default=default, metadata=said)
