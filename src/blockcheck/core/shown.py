"""How a message quotes what a person wrote: on one line, not too long, and as the language spells it."""

from __future__ import annotations

_LONGEST = 60
_KINDS = {"list": "a list", "dict": "a table", "date": "a date", "datetime": "a date and time", "time": "a time of day"}


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


def plain(text: str, most: int = _LONGEST) -> str:
    """A text on one line: cut where it is too long, and with signs that do not print written as escapes."""
    cut = text if len(text) <= most else text[: most - 3] + "..."
    return "".join(sign if sign.isprintable() else f"\\u{ord(sign):04x}" for sign in cut)
