"""The rooms of the fuzzer: each makes a case of a chance. The same chance makes the same case."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import tomli_w
from hypothesis import strategies as st
from hypothesis.control import BuildContext
from hypothesis.internal.conjecture.data import ConjectureData

import blockcheck
from blockcheck import api
from blockcheck.core.errors import BlockcheckError
from blockcheck.formats.registry import format_names
from tests import track_plans
from tests.fuzz.asked import any_call, asked, selection, words_of
from tests.fuzz.cases import Case
from tests.fuzz.documents import document, filled
from tests.fuzz.less import FILES
from tests.outside.yards import yards
from tests.properties.layouts import layouts
from tests.properties.less import places, without
from tests.properties.test_compare import pairs as changed
from tests.properties.test_laws_generated import ranged_layouts
from tests.properties.test_never_a_traceback import PIECES, TEXTS, TOKEN

NAME = "yard.toml"
STRATEGIES = (layouts(), layouts(interlocked=True), yards(), yards())
SIGNS = (
    b"\0",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\r",
    b"\t",
    b'"""',
    b"'''",
    b"\\u0000",
    b"[[",
    b"]]",
    b"{",
    b"}",
    b"=",
    b".",
    b"#",
)


def drawn(chance: Random, strategy: st.SearchStrategy[Any]) -> Any:
    """A value of a strategy, by chance alone."""
    data = ConjectureData(random=chance)
    with BuildContext(data, is_final=False, wrapped_test=drawn):
        return data.draw(strategy)


@cache
def beside(path: Path) -> Mapping[str, bytes]:
    """The files of an example, its first one called as it is; of a rule's case that alone."""
    some = path.parent.glob("*.toml") if "examples" in path.parts else [path]
    return {one.name: one.read_bytes() for one in some}


def some_file(chance: Random) -> tuple[str, dict[str, bytes]]:
    """The name of a first file, and all files beside it."""
    path = chance.choice(FILES)
    return path.name, {**beside(path)}


# --- rooms ------------------------------------------------------------------------------------------------------------


def bytes_(chance: Random) -> Case:
    """Files of the examples and the rules' cases of which bytes, words and lines are others."""
    name, files = some_file(chance)
    data = mangled(chance, files[name])
    return Case("bytes", {**files, name: data}, (asked(chance, name, data.decode("utf-8", "replace"), dear=False),))


def mangled(chance: Random, data: bytes) -> bytes:
    """Some bytes, words or lines deleted, doubled, exchanged, replaced."""
    for _ in range(chance.choice((1, 1, 2, 3, 5))):
        kind = chance.randrange(3)
        text = data.decode("utf-8", "replace")
        parts: list[Any] = (
            [data[at : at + 1] for at in range(len(data))]
            if kind == 0
            else TOKEN.findall(text)
            if kind == 1
            else text.splitlines(True)
        )
        if not parts:
            return data
        at, other = chance.randrange(len(parts)), chance.randrange(len(parts))
        new = chance.choice([*SIGNS, bytes([chance.randrange(256)])]) if kind == 0 else chance.choice([*PIECES, *TEXTS])
        match chance.randrange(6):
            case 0:
                del parts[at]
            case 1:
                parts.insert(other, parts[at])
            case 2:
                parts[at], parts[other] = parts[other], parts[at]
            case 3:
                parts[at] = new
            case 4:
                parts.insert(at, new)
            case _:
                del parts[min(at, other) : max(at, other)][:200]
        data = b"".join(parts) if kind == 0 else "".join(parts).encode("utf-8", "surrogatepass")
    return data


def structure(chance: Random) -> Case:
    """Documents by the schema of layouts: keys of their tables, values of the right sort and of others."""
    values = document(chance) if chance.random() < 0.4 else filled(chance, tomllib.loads(_whole(chance)))
    text = tomli_w.dumps(values)
    return Case("structure", {NAME: text.encode("utf-8", "surrogatepass")}, (asked(chance, NAME, text),))


def _whole(chance: Random) -> str:
    while True:
        path = chance.choice(FILES)
        text = path.read_text("utf-8")
        if "include" not in text:
            return text


def layout_text(chance: Random) -> str:
    """A whole layout: made, or a plan with turnouts; now and then with less in it, or with many more blocks."""
    kind = chance.random()
    if kind < 0.15:
        return track_plans.plan(chance, 1, 6)
    values = drawn(chance, ranged_layouts()).ranged if kind < 0.25 else drawn(chance, chance.choice(STRATEGIES))
    if chance.random() < 0.3:
        every = [*places(values)]
        values = without(values, chance.sample(every, chance.choice((1, 1, 2, 4, len(every) // 6 or 1))))
    if chance.random() < 0.08:
        many(chance, values)
    if chance.random() < 0.2:
        values = filled(chance, values)
    return tomli_w.dumps(values)


def many(chance: Random, values: dict[str, Any]) -> None:
    """More blocks than are taken one by one, as ranges with little or much said of them."""
    count = chance.choice((70, 81, 82, 100, 200))
    board_types, boards, blocks = (values.setdefault(one, {}) for one in ("board_types", "boards", "blocks"))
    if not all(isinstance(one, dict) for one in (board_types, boards, blocks)):
        return
    board_types["many"] = {"channels": 400, "threshold": "1 mA"}
    boards["DM"] = {"type": "many", "banks": [chance.choice([*values.get("districts", {"main": 0})] or ["main"])]}
    block: dict[str, Any] = {"channel": f"DM.1-{count}"}
    more = {"length": "1.5 m", "lead": "2 m", "isolator": f"IM1-IM{count}", "kind": "storage"}
    block |= {key: value for key, value in more.items() if chance.random() < 0.5}
    harnesses = [*values.get("harnesses", {})]
    if harnesses and chance.random() < 0.6:
        block["harness"] = chance.choice(harnesses)
    blocks[f"M1-M{count}"] = block
    if "isolator" in block:
        values.setdefault("isolators", {})[f"IM1-IM{count}"] = {}


def whole(chance: Random) -> Case:
    """Whole layouts, and any command about them in any format."""
    text = layout_text(chance)
    return Case("layouts", {NAME: text.encode()}, (asked(chance, NAME, text),))


def pairs(chance: Random) -> Case:
    """Two layouts, of which one was the other, compared in both directions."""
    if chance.random() < 0.5:
        old, new = map(tomli_w.dumps, drawn(chance, changed()))
    else:
        old = layout_text(chance)
        values = tomllib.loads(old)
        every = [*places(values)]
        new = tomli_w.dumps(
            filled(chance, without(values, chance.sample(every, min(len(every), chance.randint(0, 3)))))
        )
    form = chance.choice(format_names("compare"))
    return Case(
        "pairs",
        {"old.toml": old.encode(), "new.toml": new.encode()},
        (("compare", "old.toml", "new.toml", "-f", form),),
    )


@cache
def _sheet(path: Path, form: str) -> bytes | None:
    try:
        answer = api.bench(api.load(path), at_hand=("beeper", "axle", "meter", "supply"))
    except BlockcheckError:
        return None
    made = blockcheck.render(answer, form)
    return made if isinstance(made, bytes) else made.encode()


def readings(chance: Random) -> Case:
    """Test sheets that came back: filled in by chance, or mangled, as TOML or CSV, against their layout or another."""
    path = chance.choice([one for one in FILES if "examples" in one.parts or chance.random() < 0.2])
    form = chance.choice(("toml", "toml", "csv"))
    sheet = _sheet(path, form)
    while sheet is None:
        path = chance.choice(FILES)
        sheet = _sheet(path, form)
    text = sheet.decode("utf-8-sig")
    text = _filled_toml(chance, text) if form == "toml" else _filled_csv(chance, text)
    data = mangled(chance, text.encode()) if chance.random() < 0.3 else text.encode()
    name = f"readings.{form}"
    command = ("trace", path.name, name, "-f", chance.choice(format_names("trace")))
    more = chance.choice(((), (), ("--pairs", "20"), ("--tolerance", "10 %"), ("--since", name)))
    return Case("readings", {**beside(path), name: data}, ((*command, *more),))


READ: tuple[str, ...] = (
    "beeps",
    "silent",
    "D1.1",
    "D1.2, D1.3",
    "none",
    "46 mohm",
    "0.2 ohm",
    "12 V",
    "0 V",
    "-",
    "open",
    "1e9 ohm",
    "14.2 V",
    "beeps?",
    "3",
)


def _filled_toml(chance: Random, text: str) -> str:
    def fill(found: re.Match[str]) -> str:
        if chance.random() < 0.5:
            return found[0]
        expected = re.findall(r'expect\w* = ("[^"]*")', text)
        new = json.dumps(chance.choice(READ), ensure_ascii=False)
        return f"reading = {chance.choice(expected) if expected and chance.random() < 0.5 else new}"

    return re.sub(r'reading = ""', fill, text)


def _filled_csv(chance: Random, text: str) -> str:
    lines = text.split("\r\n")
    return "\r\n".join(
        line + chance.choice(READ) if line.endswith(",") and chance.random() < 0.6 else line for line in lines
    )


def calls(chance: Random) -> Case:
    """Calls with any options and words, mostly those that a command has."""
    name, files = some_file(chance)
    files = {**files, NAME: files[name], "other.toml": chance.choice(FILES).read_bytes(), "stdin": files[name]}
    return Case("calls", files, (any_call(chance, NAME),))


def page(chance: Random) -> Case:
    """What a page in hand holds, of any layout; held against its schema."""
    text = layout_text(chance)
    return Case("page", {NAME: text.encode()}, (("page", NAME, "-f", chance.choice(("json", "json", "html"))),))


def live(chance: Random) -> Case:
    """Requests to the live page: right ones, wrong ones."""
    path = chance.choice([one for one in FILES if one.parts[-3] == "examples" and "include" not in one.read_text()])
    text = path.read_text("utf-8")
    asks = list[tuple[str, str, str]]()
    for _ in range(chance.randint(1, 4)):
        method = chance.choice(("GET", "GET", "GET", "POST", "PUT", "HEAD"))
        where = chance.choice(("/", "/ask", "/ask", "/ask", "/trace", "/nothing", "/ask/../ask", "//"))
        query = chance.choice(("", f"?open={selection(chance, text)}", f"?scenario={chance.choice(words_of(text))}"))
        query += chance.choice(
            ("", "", "&open=%00", "&scenario=%ff%fe", "&open=%F0%9F%9A%82", "&open=" + "S1," * 400, "&&&==")
        )
        body = ""
        if where == "/trace":
            method = chance.choice(("POST", "POST", "POST", method))
            body = mangled(chance, (_sheet(path, "toml") or b"")).decode("utf-8", "replace")
            body = _filled_toml(chance, body)
        asks.append((method, where + query, body))
    return Case("live", {NAME: text.encode()}, tuple(asks))


METHODS = ("hover", "completion", "definition", "references", "prepare_rename", "rename", "actions")
TYPED = ("X", "S1", "S1-S9", "R1.2", "", " ", "a b", '"', "é", "東京", "[x]", "new-name", "1", "a" * 200, "\n")


def lsp(chance: Random) -> Case:
    """What an editor asks while a layout is typed: anywhere, of text that is whole, mangled or cut off."""
    name, files = some_file(chance)
    asks = list[tuple[str, dict[str, Any]]]()
    text = files[name].decode("utf-8")
    for _ in range(chance.randint(1, 2)):
        kind = chance.random()
        if kind < 0.3:
            text = text[: chance.randint(0, len(text))]
        elif kind < 0.7:
            text = mangled(chance, text.encode()).decode("utf-8", "replace")
        asks.append(("open", {"file": name, "text": text}))
        lines = text.splitlines() or [""]
        for _ in range(chance.randint(2, 8)):
            line = chance.randint(0, len(lines) + 1)
            long = len(lines[line]) if line < len(lines) else 3
            at = {"file": name, "line": line, "character": chance.randint(0, long + 2)}
            asks.append((chance.choice(METHODS), {**at, "name": chance.choice(TYPED)}))
    return Case("lsp", files, tuple((method, json.dumps(words)) for method, words in asks))


ROOMS: dict[str, Callable[[Random], Case]] = {
    "bytes": bytes_,
    "structure": structure,
    "layouts": whole,
    "pairs": pairs,
    "readings": readings,
    "calls": calls,
    "page": page,
    "live": live,
    "lsp": lsp,
}


def made(room: str, seed: int) -> Case:
    """The case of a room and a seed."""
    return ROOMS[room](Random(f"{room} {seed}"))
