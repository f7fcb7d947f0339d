"""How a file says that blockcheck wrote it, so that nothing else is ever written over without being asked.

A page names its generator, and so do JSON and a drawing; SARIF and JUnit name the tool; what takes a comment begins
with one; a workbook has it in its properties; text and markdown end with a line. CSV has no room for a mark that no
program would trip over: the heading of the table is the mark, so that a column which somebody added keeps the file.
"""

from __future__ import annotations

import re
from datetime import datetime

GENERATOR = "blockcheck"
"""What pages, drawings and JSON name as their generator."""
SIGNATURE = "Made by blockcheck"
"""What all other marks say."""
CREATED = datetime(2000, 1, 1)
"""When a workbook says that it was made and last saved, so that the same answer gives the same bytes; whatever program
saves it anew writes when it did."""

_LAST = {"text": f"{SIGNATURE}.", "github": f"{SIGNATURE}.", "markdown": f"<!-- {SIGNATURE} -->"}
_FIRST = {"netlist": f"* {SIGNATURE}\n"}
_CSV = frozenset({"csv", "labels-csv"})
_FOREIGN = "it is no answer that blockcheck wrote"
_HEAD = 2048
"""Characters at the beginning of a file, within which a mark stands."""
_BEGINS = tuple(
    re.compile(pattern, re.S)
    for pattern in (
        rf"[#*] {SIGNATURE}\b",
        rf'<!DOCTYPE html>.{{,200}}?<meta name="generator" content="{GENERATOR}">',
        rf'<svg [^>]*\bdata-generator="{GENERATOR}"',
        rf'\{{\s*"format":\s*1,\s*"generator":\s*"{GENERATOR}"',
        r'\{\s*"\$schema":\s*"[^"]*sarif.{,200}?"driver":\s*\{\s*"name":\s*"blockcheck"',
        r'<\?xml[^>]*\?>\s*<testsuites name="blockcheck"',
    )
)


def signed(format_: str, made: str | bytes) -> bytes:
    """An answer as a file has it: with a mark around it where the format has no place for one inside."""
    if isinstance(made, bytes):
        return made
    last = f"\n{_LAST[format_]}\n" if format_ in _LAST else ""
    return f"{_FIRST.get(format_, '')}{made}{last}".encode("utf-8", "replace")


def kept(there: bytes, made: bytes, format_: str) -> str | None:
    """Why what a file holds must not be lost to an answer; None where there is nothing in it to be lost.

    ``there`` is what the file holds, ``made`` the answer in a format. What is lost to nobody: an empty file, the same
    again, and what blockcheck wrote and nobody has filled in or saved from another program.
    """
    if not there.strip() or there == made:
        return None
    if there.startswith(b"PK\x03\x04"):
        return _workbook(there)
    text = there.decode("utf-8-sig", "replace")
    if any(mark.match(text[:_HEAD]) for mark in _BEGINS):
        return _filled(there) if text.startswith("#") else None
    if text.rstrip().rpartition("\n")[2] in _LAST.values():
        return None
    if format_ in _CSV:
        same = text.splitlines()[0] == made.decode("utf-8-sig").splitlines()[0]
        return _filled(there) if same else "its heading is not the one of this table"
    return _FOREIGN


def _filled(there: bytes) -> str | None:
    from blockcheck.answers.workshop.readings import filled

    return "somebody has written in it" if filled(there) else None


def _workbook(there: bytes) -> str | None:
    from io import BytesIO
    from zipfile import ZipFile

    try:
        with ZipFile(BytesIO(there)) as book:
            properties = book.read("docProps/core.xml").decode("utf-8", "replace")
    except Exception:  # whatever is wrong with it: no workbook of ours
        return _FOREIGN
    if SIGNATURE not in properties:
        return _FOREIGN
    untouched = f">{CREATED.isoformat()}Z</dcterms:modified>" in properties
    return None if untouched else "another program has saved it since"
