"""What is wrong with a text that the parser refuses, in the words of somebody who wires layouts.

The parser says where it gave up, which is often behind what a person did wrong, and in its own terms. This finds what
was meant: an open quote or bracket, a value without quotes, a sign of another language.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from attrs import frozen

from blockcheck.core.findings import Finding, Label
from blockcheck.core.shown import plain
from blockcheck.core.spans import Path, SourceFile, Span
from blockcheck.text.brackets import deep_bracket, open_at
from blockcheck.text.positions import KEYS, scan

_KEY_SIGN = re.compile(rf"[ \t]*(?P<key>{KEYS})[ \t]*(?P<sign>=|)[ \t]*")
_NEXT_KEY = re.compile(rf"{KEYS}[ \t]*=")
_HEADER_LINE = re.compile(rf"[ \t]*\[\[?[ \t]*{KEYS}[ \t]*\]\]?[ \t]*(?:#.*)?")
_CLOSE = re.compile(r"[ \t]*\]{1,2}")
_NUMBER = r"[-+]?(?:[0-9][0-9_]*(?:[.,][0-9]+)?|[.,][0-9]+)"
_QUANTITY = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>[A-Za-zµμΩ\u2126%°][A-Za-zµμΩ\u2126%°0-9²/ .·]*)?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_TYPOGRAPHIC = "“”„‟«»‘’‚"
_TRUTH = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}
_NOTHING = ("null", "none", "nil", "nothing", "n/a", "-", "?")
_LONG = 1 << 20  # of a text beyond this not every position is looked up
_COMMENTS = ("//", "/*", ";", "--")


@frozen
class _Scene:
    """Where the parser gave up: offsets are into the text; ``start`` and ``end`` bound the line, its end excluded."""

    source: SourceFile
    offset: int
    told: str
    start: int
    end: int

    @property
    def line(self) -> str:
        return self.source.text[self.start : self.end]

    @property
    def rest(self) -> str:
        """The line from the place on."""
        return self.source.text[self.offset : self.end]

    @property
    def sign(self) -> str:
        """The character at the place; empty at the end of the text."""
        return self.source.text[self.offset : self.offset + 1]

    def said(self, message: str, help_: str, start: int | None = None, end: int | None = None) -> Finding:
        start = self.offset if start is None else start
        place = self.source.place(Span(start, max(start + 1, end if end is not None else start + 1)))
        return Finding(message, place.file, place, help=help_)


def explain(source: SourceFile, offset: int, told: str) -> Finding:
    """The finding for a text that the parser refused at ``offset``, saying ``told``."""
    text = source.text
    offset = min(offset, len(text))
    start = text.rfind("\n", 0, offset) + 1
    end = text.find("\n", offset)
    scene = _Scene(source, offset, told, start, len(text) if end < 0 else end)
    for sort in _SORTS:
        found = sort(scene)
        if found is not None:
            return found
    message = f"this cannot be read as TOML: {told[:1].lower()}{told[1:]}"
    return scene.said(message, 'a line is a key with its value (kind = "storage"), a [header], or a comment behind #')


def _unprintable(scene: _Scene) -> Finding | None:
    sign = scene.sign
    if not sign or sign in "\t\n" or (sign.isprintable() and sign != "\ufffe") or sign == "\u00a0":
        return None
    if sign == "\r":
        return scene.said("a carriage return alone ends no line", "save the file with the line ends LF or CR LF")
    return scene.said(
        f"the sign U+{ord(sign):04X} cannot stand here", "take it out; editors show it as a blank or a box"
    )


def _twice(scene: _Scene) -> Finding | None:
    """Something that is written a second time: both places."""
    if not scene.told.startswith(("Cannot", "Duplicate")):
        return None
    text, stop = scene.source.text, scene.offset
    close = _CLOSE.match(text, stop)
    is_header = close is not None and _HEADER_LINE.fullmatch(text, scene.start, close.end()) is not None
    if is_header and close is not None:  # where the parser stops before its brackets
        stop = close.end()
    if stop > _LONG or deep_bracket(text, 64) is not None:  # too many positions to keep them all
        first, again = _same_words(scene, is_header, stop)
    else:
        path, again = _written_last(text[:stop], is_header)
        before = scan(text[: again.start]) if again else {}
        first = next(
            (spot.key for cut in range(len(path), 0, -1) if (spot := before.get(path[:cut])) and spot.key), None
        )
    if again is None:
        return None
    written = plain(text[again.start : again.end])
    other = plain(text[first.start : first.end]) if first else ""
    message, help_ = _clash(written, other)
    place = scene.source.place(again)
    related = (Label(scene.source.place(first), "first written here"),) if first else ()
    return Finding(message, place.file, place, help=help_, related=related)


def _written_last(text: str, is_header: bool) -> tuple[Path, Span | None]:
    """The path that the last header of a text, or its last key with a value, leads to, and where it is written."""
    found: tuple[Path, Span | None] = ((), None)
    for path, spot in scan(text).items():
        if (
            spot.key is not None
            and len(text) == (spot.key.end if is_header else spot.value.end)
            and len(path) > len(found[0])
        ):
            found = (path, spot.key)
    return found


def _same_words(scene: _Scene, is_header: bool, stop: int) -> tuple[Span | None, Span | None]:
    """The first line that begins with the same header, or with the same key below the same header, and the last."""
    text = scene.source.text
    match = _HEADER_LINE.match(text, scene.start, stop) if is_header else _KEY_SIGN.match(text, scene.start)
    if match is None:
        return None, None
    words = match[0].strip() if is_header else match["key"]
    start = text.index(words, scene.start)
    above = 0 if is_header else max(text.rfind("\n[", 0, start), 0)
    same = re.compile(rf"^[ \t]*(?P<same>{re.escape(words)})" + ("" if is_header else r"[ \t]*="), re.MULTILINE)
    first = same.search(text, above, start)
    return (Span(*first.span("same")) if first else None), Span(start, start + len(words))


def _clash(written: str, other: str) -> tuple[str, str]:
    """What to say of a key or header that clashes with another one before it."""
    if not written.startswith("["):
        return f"{written} is given twice in the same table", "keep one of the two"
    if other and not other.startswith("["):
        return f"{written} cannot be a table: {other} has a value already", "keep one of the two"
    if other.startswith("[[") and not written.startswith("[["):
        return f"{written} cannot stand beside {other}", f"write [{written}]"
    if written.startswith("[[") and other and not other.startswith("[["):
        inner = written.strip("[] ")
        named = other.strip("[] ") != inner
        return (
            f"{written} cannot stand beside {other}",
            f"write [{inner}{'.NAME' if named else ''}], in single brackets",
        )
    return f"{written} is written twice", "put the keys of both under one header"


def _open_quote(scene: _Scene) -> Finding | None:
    told = scene.told
    if scene.sign not in ("", "\n") or not told.startswith(
        ("Unterminated", "Expected \"'", "Illegal", "Found invalid")
    ):
        return None
    _, quote = open_at(scene.source.text, scene.offset)
    if quote is None:
        return None
    text, start, mark = scene.source.text, quote.start(), quote[0]
    end = text.find("\n", start)
    end = len(text) if end < 0 else end
    if len(mark) == 3:
        return scene.said(
            f"the text that begins here is never closed: {mark} is missing", f"end it with {mark}", start, end
        )
    inside = text[start + 1 : end]
    if inside.endswith('\\"'):
        help_ = f"write '{plain(inside[:-1])}': in single quotes a backslash stands for itself"
    else:
        meant = inside.partition("#")[0].rstrip(" ,]}")  # what was meant to stand behind the text, most likely
        help_ = f"write {mark}{plain(meant)}{mark}"
    return scene.said("this text has no closing quote", help_, start, end)


def _escape(scene: _Scene) -> Finding | None:
    if not scene.told.startswith(("Unescaped", "Invalid hex", "Escaped character")):
        return None
    start = scene.source.text.rfind("\\", scene.start, scene.offset)
    help_ = "write the text in 'single quotes', where a backslash stands for itself"
    return scene.said(
        "a backslash in double quotes begins an escape such as \\n, and this is none", help_, max(start, 0)
    )


def _open_bracket(scene: _Scene) -> Finding | None:
    """A list or an inline table that is not closed, or that lacks a comma."""
    text, sign = scene.source.text, scene.sign
    cut_off = scene.told.startswith(("Invalid value", "Invalid initial", "Expected '='")) and (
        not text[scene.offset :].strip()
        or (not text[scene.start : scene.offset].strip(" \t[") and _next_statement(scene))
    )
    if not (scene.told.startswith("Unclosed") or cut_off):
        return None
    stack, _ = open_at(scene.source.text, scene.offset)
    header = _HEADER_LINE.fullmatch(scene.line) is not None
    stack = [start for start in stack if not (header and start >= scene.start)]
    if not stack:
        return None
    start = stack[-1]
    bracket = text[start]
    partner = {"[": "]", "{": "}"}[bracket]
    what = "list" if bracket == "[" else "inline table"
    if sign and sign in "]})":
        return scene.said(f"the {what} that begins here ends with {sign}", f"close it with {partner}", start)
    if sign and not cut_off and text[scene.start : scene.offset].strip():
        item = "items of this list" if bracket == "[" else "keys of this inline table"
        return scene.said(f"there is no comma between two {item}", "divide them with a comma")
    return scene.said(f"the {what} that begins here is not closed", f"close it with {partner}", start)


def _next_statement(scene: _Scene) -> bool:
    return bool(_NEXT_KEY.match(scene.line.lstrip(" \t[")) or _HEADER_LINE.fullmatch(scene.line))


def _header(scene: _Scene) -> Finding | None:
    line = scene.line.strip()
    if scene.told.startswith("Expected '='") and line.endswith("]") and "[" not in line:
        return scene.said("this header has no opening bracket", f"write [{plain(line)}")
    if not line.startswith("["):
        return None
    start = scene.start + scene.line.index("[")
    inner = line.partition("#")[0].strip("[] \t")
    double = line.startswith("[[")
    left, right = ("[[", "]]") if double else ("[", "]")
    if scene.told.startswith("Invalid initial"):
        table = inner.rstrip(". ") or "blocks"
        return scene.said(
            "this header lacks a name", f"write {left}{table if double else table + '.NAME'}{right}", start
        )
    if not scene.told.startswith(("Expected ']'", "Expected ']]'")):
        return None
    if scene.offset >= scene.end or scene.sign in "]#":
        return scene.said("this header is not closed", f"write {left}{plain(inner)}{right}", start)
    if "=" in scene.rest:
        return scene.said("this header is not closed", "write the keys on lines of their own, below the header", start)
    table = re.match("[A-Za-z_]*", inner)[0]  # type: ignore[index]
    sign, name = inner[len(table) : len(table) + 1], inner[len(table) + 1 :]
    if name and (sign == ":" or (sign == " " and "." not in name and name.isidentifier())):
        return scene.said("the name of a table follows a dot", f"write {left}{table}.{plain(name)}{right}")
    if name and sign == "." and "," in name:
        return scene.said("a header has one name, or a range", f"write {left}{table}.S1-S4{right} for several")
    quoted = f'{left}{table}."{plain(name)}"{right}' if name and sign == "." and '"' not in name else "[blocks.NAME]"
    return scene.said("a name with this sign stands in quotes in a header", f"write {quoted}")


def _comment(scene: _Scene) -> Finding | None:
    if not scene.told.startswith(("Invalid statement", "Expected newline")):
        return None
    rest = scene.rest
    if rest.startswith(_COMMENTS) and rest.strip() != ";":
        return scene.said("a comment begins with #", f"write # {plain(rest.lstrip('/*;- ').strip())}")
    return None


def _no_equals(scene: _Scene) -> Finding | None:
    if not scene.told.startswith("Expected '='"):
        return None
    rest = scene.rest
    begin = max(scene.start, *(scene.source.text.rfind(sign, scene.start, scene.offset) + 1 for sign in "{,"))
    key = plain(scene.source.text[begin : scene.offset].strip())
    if rest.startswith(":"):
        value = re.split("[,}#]" if begin > scene.start else "#", rest[1:].lstrip("= \t"), maxsplit=1)[0].rstrip()
        return scene.said("a key and its value are joined by =, not by a colon", f"write {key} = {plain(value)}")
    if not rest.strip() or rest.startswith("#"):
        start = scene.offset - len(scene.source.text[begin : scene.offset].lstrip())
        return scene.said(f"{key} has no value", f'write {key} = "..."', start, scene.offset)
    if rest[0] in "\"'{[" or rest[0].isdigit():
        return scene.said(f"there is no = between {key} and its value", f"write {key} = {plain(rest.strip())}")
    return scene.said(
        "a key with this sign stands in quotes",
        'a key is made of a-z, A-Z, 0-9, _ and -; others stand in quotes: "the key" = ...',
    )


def _value(scene: _Scene) -> Finding | None:
    """A value that is none: no quotes, other quotes, a quantity, a word of another language."""
    if not scene.told.startswith(("Invalid value", "Expected newline", "Invalid date")):
        return None
    match = _KEY_SIGN.match(scene.line)
    first = scene.start + match.end() if match and match["sign"] else -1  # where the value of this line's key begins
    inside = scene.told.startswith("Invalid value") and scene.offset != first
    start = scene.offset if inside or first < 0 else first
    if not inside and first < 0:
        return None
    raw = re.split(r"[,\]}#]" if inside else "#", scene.source.text[start : scene.end], maxsplit=1)[0].rstrip()
    end = start + len(raw)
    key = plain(match["key"]) if match and not inside else ""
    bare = raw.strip(f"\"'{_TYPOGRAPHIC} ,;")

    def write(value: str) -> str:
        return f"write {key} = {plain(value)}" if key else f"write {plain(value)}"

    if not raw or raw.startswith("="):
        if raw.startswith("="):
            return scene.said("one = joins a key and its value", write(raw.lstrip("= ")), start)
        return scene.said(f"{key or 'this'} has no value", f'write {key or "it"} = "..."', start)
    if inside and "=" in raw:
        return scene.said("a table in a list stands in { }", f"write {{ {plain(raw)}, ... }}", start, end)
    if raw[0] in _TYPOGRAPHIC:
        return scene.said("these are typographic quotes; straight ones are wanted", write(f'"{bare}"'), start, end)
    if bare.lower() in _TRUTH and raw[0] not in "\"'":
        help_ = write(_TRUTH[bare.lower()]) + f', or "{bare}" where text is meant'
        return scene.said("true and false are written small and without quotes", help_, start, end)
    if bare.lower() in _NOTHING:
        return scene.said("there is no value for nothing", "leave the key out", start, end)
    return _number(scene, raw, write, start, end) or _text(scene, raw, bare, write, start, end)


def _number(scene: _Scene, raw: str, write: Callable[[str], str], start: int, end: int) -> Finding | None:
    """A value that begins as a number, and is none."""
    quantity = _QUANTITY.fullmatch(raw.rstrip(" ,;"))
    if _DATE.match(raw):
        return scene.said("this is no date of the calendar", write("2031-12-31") + ", year, month and day", start, end)
    if quantity is None:
        if re.fullmatch(r"[-+]?[0-9]+\.", raw):
            return scene.said("a number does not end with a point", write(raw + "0"), start, end)
        return None
    number, unit = quantity["number"].replace(",", "."), (quantity["unit"] or "").strip(" .")
    number = re.sub(r"^([-+]?)0+(?=[0-9])", r"\1", number)
    number = re.sub(r"^([-+]?)\.", r"\g<1>0.", number)
    if unit:
        return scene.said("a quantity is text, number and unit in quotes", write(f'"{number} {unit}"'), start, end)
    if "," in quantity["number"]:
        message = "the sign before decimals is the point"
        return scene.said(message, write(number) + ", and a quantity as text with its unit", start, end)
    if number != quantity["number"]:
        what = "begins with a digit" if "." in quantity["number"][:2] else "has no nought before it"
        return scene.said(f"a number {what}", write(number), start, end)
    return None


def _text(scene: _Scene, raw: str, bare: str, write: Callable[[str], str], start: int, end: int) -> Finding | None:
    """A value that is text without its quotes, or has something behind it."""
    if scene.told.startswith("Expected newline"):
        behind = scene.rest.strip()
        if behind in (",", ";"):
            return scene.said(f'nothing stands behind a value, so no "{behind}"', "leave it out")
        if _NEXT_KEY.match(behind) or behind.startswith("["):
            return scene.said("there are two keys on one line", "write each on a line of its own")
        if raw[0] == "'" and raw.count("'") > 2 and '"' not in raw:
            inner = raw[1:-1] if raw.endswith("'") else raw[1:]
            return scene.said("the text ends at its second quote", write(f'"{inner}"'), start, end)
        if raw[0] == '"' and raw.count('"') > 2:
            inner = raw[1:-1] if raw.endswith('"') else raw[1:]
            if "'" not in inner:
                return scene.said("the text ends at its second quote", write(f"'{inner}'"), start, end)
        if raw[0] in "\"'[{":
            return scene.said("something stands behind the value", "end the line there, or make it a comment with #")
    if bare and not re.search(r"[\"'\\]", bare):
        return scene.said("text stands in quotes", write(f'"{bare}"'), start, end)
    return None


def _statement(scene: _Scene) -> Finding | None:
    if not scene.told.startswith("Invalid statement"):
        return None
    line = scene.line.strip()
    if line.startswith("("):
        return scene.said("a header stands in square brackets", f"write [{plain(line.strip('() '))}]")
    if line.startswith("="):
        return scene.said("there is no key before the =", 'write the key before it: kind = "storage"')
    if line[:1].isalpha() or line[:1] in _TYPOGRAPHIC:
        message = "a key with this sign stands in quotes"
        return scene.said(message, 'a key is made of a-z, A-Z, 0-9, _ and -; others stand in quotes: "the key" = ...')
    return None


_SORTS: tuple[Callable[[_Scene], Finding | None], ...] = (
    _twice,
    _open_quote,
    _escape,
    _unprintable,
    _open_bracket,
    _header,
    _comment,
    _no_equals,
    _value,
    _statement,
)
