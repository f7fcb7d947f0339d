"""How what a person wrote is shown: on one line, with nothing in it that is not seen; in messages not too long, too."""

from __future__ import annotations

import re
from collections.abc import Callable

_LONGEST = 60
_KINDS = {"list": "a list", "dict": "a table", "date": "a date", "datetime": "a date and time", "time": "a time of day"}
_BREAKS = re.compile(r"\r\n|[\t-\r\x1c-\x1e\x85\u2028\u2029]")
_NO_SIGN = (  # controls, what turns the direction of a text, halves of signs, and what leaves no ink
    r"\x00-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u206f"
    r"\u2800\u3164\ud800-\udfff\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff\U0001bca0-\U0001bca3"
    r"\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
)
_JOINERS = "\u200c\u200d"
_UNSEEN = re.compile(rf"(?<=[^\x00-\x7f{_NO_SIGN}])[{_JOINERS}\ufe0e\ufe0f]|(?P<bad>[{_NO_SIGN}])")
"""What must not stand in a text. Joiners, and what chooses a form, shape the sign before them in many scripts: they
are seen by what they do, once behind each. (Unicode: Default_Ignorable_Code_Point, and UAX #31, 2.3, for joiners.)"""


def shown(value: object) -> str:
    """A value of the document, or a word of the command line: text in quotes, numbers and true or false as written.

    Lists, tables and dates are named by their kind; nothing is ever longer than a few words.
    """
    if isinstance(value, str):
        return f'"{plain(value)}"' if value.strip() else "an empty text"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value) if abs(value) < 10**20 else "a very large number"
    if isinstance(value, float):
        return repr(value)
    return _KINDS.get(type(value).__name__, "something else")


def escaped(sign: str) -> str:
    """A sign as an escape, as the language writes it."""
    return f"\\u{ord(sign):04x}" if ord(sign) < 0x10000 else f"\\U{ord(sign):08x}"


def plain(text: str, most: int = _LONGEST) -> str:
    """A text on one line: cut where it is too long, and with signs that do not print written as escapes."""
    cut = without_unseen(text if len(text) <= most else text[: most - 3] + "...")
    return "".join(sign if sign.isprintable() or sign in _JOINERS else escaped(sign) for sign in cut)


def unseen(text: str) -> str | None:
    """The first sign of a text that is not seen, or commands whatever shows it; None where every sign is one."""
    if text.isascii() and text.isprintable():
        return None
    return next((match["bad"] for match in _UNSEEN.finditer(text) if match["bad"]), None)


def joined(text: str) -> str:
    """A text with blanks for its line breaks and tabs."""
    return text if text.isprintable() else _BREAKS.sub(" ", text)


def on_one_line(text: str) -> str:
    """A text with blanks for its line breaks and tabs, and escapes for the signs that are not seen.

    All that leaves blockcheck as text goes through here.
    """
    return text if text.isascii() and text.isprintable() else without_unseen(joined(text))


def without_unseen(text: str, instead: Callable[[str], str] = escaped) -> str:
    """A text with something else instead of each sign that is not seen."""
    if text.isascii() and text.isprintable():
        return text
    return _UNSEEN.sub(lambda match: instead(match["bad"]) if match["bad"] else match[0], text)
