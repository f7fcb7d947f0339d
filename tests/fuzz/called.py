"""Calls of the command line: status, words and form of each answer."""

from __future__ import annotations

import csv
import io
import json
import re
import sys
import tomllib
import zlib
from collections.abc import Callable
from functools import cache
from typing import Any
from xml.etree import ElementTree

from attrs import frozen
from jsonschema import Draft7Validator

from blockcheck.__main__ import main
from blockcheck.text.includes import shipped
from tests.fuzz.cases import Case
from tests.fuzz.law import LONG_S, MOST_MB, QUICK_S, Verdict, guarded, joined

LONG = frozenset({"bench", "trace", "book", "page", "compare", "where"})
"""Commands that make a test sheet."""
MOST_VALID = 60_000
"""Answers in JSON of more bytes than this are not held against their schema: that takes longer than answering."""


def calls(case: Case, share: float) -> Verdict:
    """Call what a case asks, one after the other, until something is wrong."""
    found = list[Verdict]()
    for words in case.asks:
        seconds = share * (LONG_S if words and words[0] in LONG else QUICK_S)
        called = _Call([*words], case.files.get("stdin", b""))
        found.append(guarded(words[0] if words else "", seconds, called.verdict))
        if found[-1].what is not None:
            break
    return joined(found)


@frozen
class _Call:
    words: list[str]
    stdin: bytes

    def verdict(self) -> Verdict:
        kept = sys.stdin, sys.stdout, sys.stderr
        raw = io.BytesIO(), io.BytesIO()
        out, err = (io.TextIOWrapper(one, "utf-8", "replace", newline="\n") for one in raw)
        sys.stdin, sys.stdout, sys.stderr = io.TextIOWrapper(io.BytesIO(self.stdin), "utf-8"), out, err
        try:
            status = main(self.words)
            out.flush()
            err.flush()
        finally:
            sys.stdin, sys.stdout, sys.stderr = kept
        return self.judged(status, raw[0].getvalue(), raw[1].getvalue())

    def judged(self, status: int, out: bytes, err: bytes) -> Verdict:
        name, told = self.words[0] if self.words else "", err.decode("utf-8", "replace")
        if status == 2 and "not enough memory" in told:
            return Verdict("over", f"{name}: more than {MOST_MB} MB\n{told[-2000:]}")
        if status == 3:
            found = re.search(r"defect: (\w+ at \S+:\d+)", told)
            return Verdict("defect", f"{name}: {found[1] if found else told[:200]}\n{told[-3000:]}")
        if status not in (0, 1, 2) or b"Traceback (most recent" in out + err:
            return Verdict("defect", f"{name}: status {status}\n{told[-3000:]}")
        if status == 2:
            silent = not (out + err).strip()
            return (
                Verdict("defect", f"{name}: refused without a word")
                if silent
                else Verdict("refused", None, _sum(out, err))
            )
        wrong = self.misformed(out)
        if wrong is not None:
            return Verdict("defect", f"{name}: {wrong}")
        return Verdict("answered", None, _sum(out, err))

    def misformed(self, out: bytes) -> str | None:
        """What is wrong with the form of an answer."""
        found = next(
            (self.words[place + 1] for place, word in enumerate(self.words[:-1]) if word in ("-f", "--format")), ""
        )
        if "-o" in self.words or found not in FORMS:
            return None
        try:
            FORMS[found](self.words[0], out)
        except Exception as error:
            return f"{found} is not well-formed: {type(error).__name__}\n{str(error)[:500]}"
        return None


def _sum(out: bytes, err: bytes) -> int:
    """A digest of what was printed; a workbook has the time in it."""
    return 0 if out.startswith(b"PK") else zlib.crc32(out + b"\0" + err)


@cache
def _schema(command: str) -> Any:
    path = shipped("schemas") / f"{command}.schema.json"
    return Draft7Validator(json.loads(path.read_text("utf-8"))) if path.exists() else None


def _json(command: str, out: bytes) -> None:
    values = json.loads(out)
    if len(out) < MOST_VALID and command != "isolate" and _schema(command) is not None:
        _schema(command).validate(values)


FORMS: dict[str, Callable[[str, bytes], object]] = {
    "json": _json,
    "sarif": lambda _, out: json.loads(out),
    "junit": lambda _, out: ElementTree.fromstring(out),
    "svg": lambda _, out: ElementTree.fromstring(out),
    "labels-svg": lambda _, out: ElementTree.fromstring(out),
    "csv": lambda _, out: [*csv.reader(io.StringIO(out.decode("utf-8-sig")), strict=True)],
    "toml": lambda _, out: tomllib.loads(out.decode()),
    **dict.fromkeys(("text", "markdown", "html", "github", "netlist", "labels-html"), lambda _, out: out.decode()),
}
