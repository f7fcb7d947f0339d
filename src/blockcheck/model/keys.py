"""The vocabulary in which the layout's classes say what their keys are: descriptions, kinds, defaults."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, NewType, get_type_hints

import attrs

Name = NewType("Name", str)
"""A name of something: a key of one of the named tables."""
Selection = NewType("Selection", str)
"""What may stand on the command line for blocks or isolators: ``S3-S7``, ``lower:3-7``, ``I4``."""
Reason = NewType("Reason", str)
"""Why something is so, in words: never empty."""
Conductor = NewType("Conductor", str)
"""A conductor's size (``1.5 mm2``, ``16 AWG``) or the name of one of the wires."""
Count = NewType("Count", int)
"""A whole number of at least 1."""
Number = NewType("Number", int)
"""A whole number of at least 0."""
Factor = NewType("Factor", float)
"""A plain number above 0, without a unit."""


def key(
    toml: str,
    doc: str,
    *,
    default: Any = attrs.NOTHING,
    why: str | None = None,
    example: Any = None,
    above: float | None = None,
    words: bool = False,
    compare: str | None = None,
    dealt: bool = False,
) -> Any:
    """A field read from the TOML key ``toml``.

    ``doc`` is the description that editors show; ``why`` is the reason of the default, which stands in the schema too.
    A field without a default is needed. A quantity must lie ``above`` that, in SI units: 0 where nought means nothing.
    ``compare`` tells every key that changes, and counts it as a change to the wiring unless ``words``: then it is for
    people, for trains or for a way of operating. ``compare`` is the reason why a key is not told. In a key that is
    ``dealt``, a range is dealt out to the names of its table.
    """
    said = {"toml": toml, "doc": doc, "why": why, "example": example, "above": above}
    return attrs.field(default=default, metadata={**said, "words": words, "compare": compare, "dealt": dealt})


def subject() -> Any:
    """The field that holds the table's own name, which stands in its header and not among its keys."""
    return attrs.field(default="", metadata={"toml": None})


@cache
def key_kinds(cls: type) -> Mapping[str, Any]:
    """The kind of each key of a table, by its field's name."""
    return get_type_hints(cls)
