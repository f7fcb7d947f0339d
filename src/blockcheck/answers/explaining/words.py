"""The words of the trade, each table in them, and what ships with the package: from the data beside this module."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from attrs import frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.document import Document, Facts, Listing, Part
from blockcheck.core.columns import column
from blockcheck.text.document import STOCK
from blockcheck.text.includes import shipped


@frozen
class WordAnswer(Answer):
    """A word of the trade. ``see`` names what else can be explained about it."""

    command = "explain"

    word: str = column("The word.")
    meaning: str = column("What it means here.")
    picture: str = column("A small picture in text; empty where there is none.")
    see: tuple[str, ...] = column("Rules, tables, keys and words that tell more.")

    def document(self) -> Document:
        """What it means, a picture where one helps, and what tells more."""
        return Document(self.word, "", tuple(self._parts()), head=self.word, kind="Word of the trade")

    def _parts(self) -> Iterator[Part]:
        yield Facts([("", self.meaning)])
        if self.picture:
            yield Listing(self.picture, self.picture, code="")
        if self.see:
            yield Facts([("See", self.see)])


@frozen
class TableWords:
    """A table of the language for somebody who writes it for the first time."""

    words: str
    lines: str
    picture: str = ""


def word_named(name: str) -> WordAnswer | None:
    """A word of the trade, however it is written: ``Detected rail``, ``drops``; and what a stock file holds."""
    if name.startswith(STOCK):
        return _stock(name)
    plain = "-".join(name.casefold().split())
    found = next((one for one in (plain, plain.removesuffix("s")) if one in _words()), None)
    if found is None:
        return None
    told = _words()[found]
    return WordAnswer(found.replace("-", " "), told["means"], told.get("picture", "").strip("\n"), tuple(told["see"]))


def words() -> tuple[str, ...]:
    """All words, as they are asked for."""
    return tuple(_words())


@cache
def table_words() -> Mapping[str, TableWords]:
    """Each table of the language, in the words of the trade and with lines to copy."""
    return {
        name: TableWords(one["words"], one["lines"], one.get("picture", "").strip("\n"))
        for name, one in _data("tables").items()
    }


@cache
def _words() -> dict[str, Any]:
    return _data("words")


def _data(name: str) -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / f"{name}.toml").read_text("utf-8"))


def _stock(name: str) -> WordAnswer | None:
    """What stock files there are, or what one of them holds."""
    held = {
        STOCK + path.stem: [
            f"{table}.{one}" for table, ones in tomllib.loads(path.read_text("utf-8")).items() for one in ones
        ]
        for path in sorted(shipped("shared").glob("*.toml"))
    }
    asked = {name: held[name]} if name in held else held if name == STOCK else None
    if asked is None:
        return None
    lists = "; ".join(f"{file} has {', '.join(names)}" for file, names in asked.items())
    meaning = f'Data that ships with blockcheck, of nobody in particular: include = ["{next(iter(asked))}"]. {lists}.'
    return WordAnswer(name, meaning, "", ("include",))
