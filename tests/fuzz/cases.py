"""A case: files, and what is asked about them; written as TOML, so that a failure found once is replayed ever after."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

from attrs import frozen

KEPT = Path(__file__).parent / "cases"
"""Failures that were found and mended, each as small as it could be made."""


@frozen
class Case:
    """One input: a room (how it is asked), the files that lie in the current folder, and the asks, one after the other.

    An ask is the words of a call; of the live page method, address and body; of an editor a method and its arguments.
    """

    room: str
    files: Mapping[str, bytes]
    asks: tuple[tuple[str, ...], ...]


def written(case: Case, why: str = "") -> str:
    """A case as the text of a file; ``why`` stands on top."""
    lines = [*(f"# {one}" for one in why.splitlines()), f"room = {_quoted(case.room)}", "asks = ["]
    lines += [f"  [{', '.join(map(_quoted, ask))}]," for ask in case.asks]
    files: dict[str, list[str]] = {"files": [], "latin-1": []}
    for name, content in case.files.items():
        try:
            files["files"].append(f"{_quoted(name)} = {_quoted(content.decode())}")
        except UnicodeDecodeError:
            files["latin-1"].append(f"{_quoted(name)} = {_quoted(content.decode('latin-1'))}")
    return "\n".join([*lines, "]", *(line for table, some in files.items() for line in (f"[{table}]", *some))]) + "\n"


def _quoted(text: str) -> str:
    """A text as TOML has it: as it is, where it can be."""
    plain = (
        "\n" in text
        and "'''" not in text
        and not text.endswith("'")
        and re.fullmatch(r"[\t\n\x20-\x7e\xa0-\ud7ff]*", text)
    )
    return f"'''\n{text}'''" if plain else json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def read(text: str) -> Case:
    """The case that a file says."""
    values = tomllib.loads(text)
    files = {name: content.encode() for name, content in values.get("files", {}).items()}
    files |= {name: content.encode("latin-1") for name, content in values.get("latin-1", {}).items()}
    return Case(values["room"], files, tuple(map(tuple, values["asks"])))
