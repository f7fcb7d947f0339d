"""The page in hand as one file: a policy that lets nothing in, the style, the drawing, the data and the script."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from importlib.resources import files

from blockcheck.answers.page.page import PageAnswer
from blockcheck.formats.elements import Html, element, joined, raw
from blockcheck.formats.escape import for_json, for_markup
from blockcheck.formats.inhand.screens import findings, tests, way, yard_rows
from blockcheck.formats.page import html_head
from blockcheck.formats.programs.json_v1 import answer_json
from blockcheck.formats.svg import drawing_svg, style_of

MODULES = ("words", "states", "sentences", "yard", "way", "readings", "faults", "tests", "findings", "app")
"""The script, in the order in which its modules are joined."""
_ASKS = "connect-src 'self'; "
SCREENS = {"yard": "Yard", "way": "Way", "tests": "Tests", "findings": "Findings"}


def page_in_hand(answer: PageAnswer, *, live: str | None = None) -> str:
    """The whole page. Nothing of the layout is in it but as text: the data stand in a block that no browser runs.

    ``live`` is for one that is served, and tells which it is: it may ask the server that it came from, and nobody else.
    """
    style, script = f"\n{_file('page.css')}", f"\n{_script(live is not None)}"
    policy = (
        "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; "
        f"{_ASKS if live is not None else ''}"
        f"script-src {_hashed([script])}; style-src {_hashed([style, style_of()])}"
    )
    schemes = element("meta", name="color-scheme", content="light dark")
    head = html_head(f"{answer.layout}: the page in hand", policy, style, schemes)
    data = element("script", raw(_data(answer)), type="application/json", id="data")
    run = element("script", raw(script), type="module")
    body = joined([_header(answer), _main(answer), data, run], "\n")
    served = "" if live is None else f' data-live="{for_markup(live)}"'
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n{head}\n</head>\n'
        f'<body data-screen="yard"{served}>\n{body}\n</body>\n</html>\n'
    )


def _header(answer: PageAnswer) -> Html:
    tabs = [element("button", word, type="button", data_screen=name) for name, word in SCREENS.items()]
    return element(
        "header",
        element(
            "div",
            element("h1", answer.layout),
            element("p", "as it usually stands", class_="stands-now", role="status"),
        ),
        element("nav", *tabs, aria_label="screens"),
    )


def _main(answer: PageAnswer) -> Html:
    drawn = (
        element("p", "The drawing is being worked out.")
        if answer.pending
        else raw(drawing_svg(answer.drawing(), places=False))
    )
    drawing = element("figure", drawn, class_="drawn")
    yard = element("section", element("h2", "Yard", class_="unseen"), yard_rows(answer), id="yard")
    beside = element(
        "div",
        element("aside", class_="slip", aria_label="what it does", aria_live="polite"),
        element("p", class_="said", role="alert", hidden=True),
        drawing,
        class_="beside",
    )
    others = [
        element("section", element("h2", SCREENS[name]), *parts(answer), id=name)
        for name, parts in (("way", way), ("tests", tests), ("findings", findings))
    ]
    needs = element(
        "noscript", element("p", "This page answers by a script of its own, and asks nothing of any network.")
    )
    return element("main", needs, yard, element("div", beside, *others, class_="right"))


def _data(answer: PageAnswer) -> str:
    """JSON on one line, in which nothing ends its block."""
    told = json.dumps(json.loads(answer_json(answer)), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return for_json(told).replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


@cache
def _script(live: bool) -> str:
    first = 'const data = JSON.parse(document.getElementById("data").textContent);\n'
    return first + "".join(_file(f"{name}.js") for name in (*MODULES, *(("live",) if live else ())))


@cache
def _file(name: str) -> str:
    """A file of this folder, without its comments and the blanks that nobody needs."""
    text = files("blockcheck.formats.inhand").joinpath(name).read_text("utf-8")
    text = re.sub(r"^(?://.*|/\*.*\*/)?\n", "", re.sub("^ +", "", text, flags=re.M), flags=re.M)
    return re.sub(r"([{;:]) +| (?=[{}])", r"\1", text) if name.endswith(".css") else text


def _hashed(texts: Sequence[str]) -> str:
    return " ".join(f"'sha256-{b64encode(sha256(one.encode()).digest()).decode()}'" for one in texts)
