"""Pages: escaped whatever stands in them, whole by themselves, and readable in black and white."""

from __future__ import annotations

import re
from datetime import date
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import blockcheck
from blockcheck import api
from blockcheck.answers.document import Document, Says
from blockcheck.answers.tables import Column, Table
from blockcheck.core.shown import on_one_line
from blockcheck.formats.elements import element, raw
from blockcheck.formats.html import document_html
from blockcheck.formats.page import SIGNS, anchor, badge, page, table_html
from blockcheck.model.quantities import Amperes

YARD = Path(__file__).resolve().parents[3] / "examples/small-yard/yard.toml"
CSS = files("blockcheck.formats").joinpath("page.css").read_text("utf-8")
EMPTY = {"meta", "link", "br", "hr", "img"}


class Read(HTMLParser):
    """Tags that open and close in order, the text, and the attributes that were seen."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.tags: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@given(st.text(), st.text())
def test_text_means_itself_wherever_it_stands(text: str, value: str) -> None:
    read = Read(str(element("p", text, title=value)))
    assert read.tags == ["p"]
    assert "".join(read.text) == on_one_line(text)
    assert [name for name, _ in read.attributes] == ["title"]


@given(st.text())
def test_no_text_leaves_its_place_in_a_page(text: str) -> None:
    sheet = Document(
        text, text, (Says((text,)), Table(text, (text, "b"), ((text, 1),), (text,)), Says((text,), "caution"))
    )
    plain = Document("x", "x", (Says(("x",)), Table("x", ("x", "b"), (("x", 1),), ("x",)), Says(("x",), "caution")))
    if text:  # an empty text has no column of its own
        assert Read(document_html(sheet)).tags == Read(document_html(plain)).tags


def test_the_title_in_the_margin_cannot_end_the_style() -> None:
    made = page('</style><script>x</script>"}', [])
    assert made.count("</style>") == 1
    assert "<script" not in made


def test_attributes() -> None:
    made = element("th", "a", None, raw("<b>b</b>"), class_="x", aria_label='"', hidden=True, id=None, scope=False)
    assert str(made) == '<th class="x" aria-label="&quot;" hidden>a<b>b</b></th>'
    assert str(element("br")) == "<br>"


def test_a_page_is_whole_by_itself() -> None:
    made = page("t", [element("p", "x")])
    read = Read(made)
    assert "script" not in read.tags
    assert {value for name, value in read.attributes if name in ("href", "src")} == {"data:,"}
    assert "url(" not in made
    assert "@import" not in made
    assert "default-src 'none'" in made


def test_a_table_on_a_page() -> None:
    headers = (
        "what",
        Column("draws", "current", Amperes),
        Column("share", share=True),
        Column("inside", only="programs"),
    )
    made = str(table_html(Table("t", headers, (("a", 0.00095, 1.5, "z"), ("b", 0.94, 0.5, "z")))))
    assert "950\u00a0µA" in made
    assert "150\u00a0%" in made
    assert made.count("OVER") == 1
    assert "inside" not in made
    assert '<th scope="row" class="name">a</th>' in made


def test_anchors() -> None:
    assert anchor("Volts and shorts", "S 3") == "volts-and-shorts-s-3"
    assert anchor("–") == "x"


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition): 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_sum_for_contrast_is_right() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)  # the lightest grey that passes, per WebAIM


def test_every_text_colour_has_contrast_on_every_ground() -> None:
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", CSS))
    for name in ("ink", "muted", "accent", "error", "warning", "note", "fine"):
        for ground in ("paper", "tint"):
            assert contrast(colours[name], colours[ground]) >= 4.5, (name, ground)  # WCAG AA, 1.4.3
    assert contrast(colours["strong"], colours["paper"]) >= 3  # lines that tell something, 1.4.11
    used = set(re.findall(r"(?:^|[\s;{])color: ([^;]+);", CSS))
    assert used <= {f"var(--{name})" for name in colours} | {"inherit"}, "a colour that was not measured"


def test_badges_say_in_words_and_signs_what_their_colour_says() -> None:
    assert len(set(SIGNS.values())) == len(SIGNS)
    for kind, sign in SIGNS.items():
        assert f"{sign} {kind}" in str(badge(kind))
    frames = {
        kind: sorted(re.findall(r"border-[^;]+", rule)) for kind, rule in re.findall(r"\.badge\.(\w+) \{([^}]+)\}", CSS)
    }
    assert set(frames) == set(SIGNS)
    assert len({tuple(frame) for frame in frames.values()}) == len(frames), "two badges look alike in black and white"


def test_print_does_not_need_grounds() -> None:
    """Browsers print no backgrounds unless they are told to; no text may be lighter than its paper for that."""
    assert "#fff" not in re.sub(r"--paper: #ffffff;", "", CSS)


def test_keys_and_rules_are_in_words_and_the_code_stands_small_behind() -> None:
    headers = (Column("key", coded=True), "taken as")
    keys = ("isolators.*.contact_resistance", "limits.headroom", "voltage-drop, vehicle-unseen")
    made = str(table_html(Table("t", headers, [(key, "x") for key in keys])))
    assert re.findall(r">([a-z ,]+) <code class=\"as-written\">([^<]+)</code>", made) == [
        ("contact resistance of isolators", keys[0]),
        ("headroom", keys[1]),
        ("voltage drop, vehicle unseen", keys[2]),
    ]


def test_a_name_leads_to_what_has_it_and_each_place_stands_once() -> None:
    yard = api.load(YARD)
    channels, book = (
        str(blockcheck.render(one, "html")) for one in (api.channels(yard), api.book(yard, date(2031, 5, 1)))
    )
    svg = str(blockcheck.render(api.draw(yard), "svg"))
    for name in ("R3", "D1.3", "I3"):
        assert re.search(rf'<t[dh][^<>]* id="{re.escape(name)}"', channels), name
    for name in ("R3", "T2", "D1", "D1.3", "I3"):
        assert re.search(rf'<g id="{name}" data-kind=', svg), name
    for text in (channels, book, svg):
        ids = re.findall(r'<[^<>]* id="([^"]*)"', text)
        assert len(ids) == len({*ids})
