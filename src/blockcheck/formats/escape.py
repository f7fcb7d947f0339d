"""Words as each format has them: nothing that somebody wrote becomes a line, markup, a formula or a command.

One function a target; the walkers of documents put every text through it. What is plain stays as it is.

A log takes for a command a line that begins ``::``, and ``##[`` anywhere (github.com/actions/runner,
``src/Runner.Common/ActionCommand.cs``); other services write a word before the bracket.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable

from blockcheck.core.shown import escaped, joined, on_one_line, without_unseen

MOST_OF_A_CELL = 32_767
"""Characters that a cell of a workbook may have (ECMA-376, part 1, 18.3.1.4, and what spreadsheets document)."""
_MARKUP = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})
"""As ``html.escape`` has it, whose import alone costs every start-up."""
_BRACKET = re.compile(r"#(?=#\w*\[)")
_COLONS = re.compile(r"(?<!\S):(?=:)")
_MARKS = re.compile(r"[\\`*_\[<|~$]|&(?=#|\w+;)|:(?=//)|(?<=\bwww)\.")
_BEGINS = re.compile(r"^(?:(?=::|#{1,6}(?:\s|$)|[-+](?:\s|$)|>|[-=]+$)|(\d{1,9})(?=[.)](?:\s|$)))")
_FORMULA = re.compile(r"^(?=\s*[-=+@\uff0b\uff0d\uff1d\uff20])|(?<=[,;])(?=[-=+@])|(?<=[,;] )(?=[=@])")


_UNIT = re.compile(r"(?<=\d) (?:u(?=[AVFsH]\b)|[kmM]?ohm\b|mm2\b|deg(?=[CF]\b))")
_SIGNS = {"u": "\u00b5", "ohm": "\u03a9", "mm2": "mm\u00b2", "deg": "\u00b0"}


def with_signs(text: str) -> str:
    """Units with the signs of print, never parted from their number: micro, ohm, the square, the degree. The terminal
    and CSV have them in ASCII."""
    return _UNIT.sub(_sign, text)


def _sign(match: re.Match[str]) -> str:
    told = match[0][1:]
    return "\u00a0" + (_SIGNS.get(told) or told.replace("ohm", _SIGNS["ohm"]))


def for_text(text: str) -> str:
    """Plain text, on one line."""
    line = on_one_line(text)
    return _BRACKET.sub("# ", _COLONS.sub(": ", line)) if ":" in line or "#" in line else line


def for_source(line: str) -> str:
    """A line of a file in plain text, sign for sign, so that marks below it stand where they are meant to."""
    return _BRACKET.sub("\ufffd", without_unseen(joined(line), lambda _: "\ufffd"))


def for_markdown(text: str, *, inside: bool = False) -> str:
    """Text in which markdown finds nothing of its own: CommonMark, tables, strikes, bare links, sums in dollars.

    ``inside`` a cell, where no list or heading begins.
    """
    line = _MARKS.sub(r"\\\g<0>", on_one_line(text).strip()).replace("@", "&#64;")
    return line if inside else _BEGINS.sub(r"\1\\", line)


def for_markup(text: str) -> str:
    """Text and attributes of pages and drawings."""
    return _BRACKET.sub("&#35;", on_one_line(text).translate(_MARKUP))


def for_csv(text: str) -> str:
    """A cell that no spreadsheet takes for a formula, whichever delimiter it divides the line at."""
    return _FORMULA.sub("'", for_text(text))


def for_workbook(text: str) -> str:
    """A cell of a workbook, cut where it is longer than one may be."""
    line = on_one_line(text)
    return line if len(line) <= MOST_OF_A_CELL else line[: MOST_OF_A_CELL - 3] + "..."


def for_json(written: str) -> str:
    """JSON that is written already, with escapes for what is not seen in its texts, which say the same."""
    return _in_lines(written, _json_escape)


def for_toml(written: str) -> str:
    """As ``for_json``, for TOML."""
    return _in_lines(written, escaped)


def for_command(text: str) -> str:
    """A message of a workflow command: lines that were put on one each."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def for_property(text: str) -> str:
    """A property of a workflow command."""
    return for_command(on_one_line(text)).replace(":", "%3A").replace(",", "%2C")


def _in_lines(written: str, instead: Callable[[str], str]) -> str:
    lines = (without_unseen(line, instead) for line in written.split("\n"))
    return _BRACKET.sub(r"\\u0023", "\n".join(lines))


def _json_escape(sign: str) -> str:
    return json.dumps(sign)[1:-1]
