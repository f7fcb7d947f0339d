"""The book is the whole record, or the parts of it that are asked for; it warns twice, and is dated where asked."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

import blockcheck
from blockcheck.answers.document import CAUTION, Contents, Figure, Form, Section
from blockcheck.answers.workshop.book import CHANGED, PARTS
from blockcheck.core.errors import CallError, InputError
from blockcheck.types import Study

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
DAY = date(2026, 1, 1)
READ = """format = 1
layout = "Ropewalk sidings"
date = "2026-03-04"
who = "the wiring party"
[[steps]]
id = "{id}"
with = "beeper"
reading = "beeps"
"""


@pytest.fixture(scope="module")
def yard() -> Study:
    return blockcheck.load(EXAMPLES / "small-yard" / "yard.toml")


@pytest.fixture(scope="module")
def whole(yard: Study) -> str:
    return blockcheck.render(blockcheck.book(yard, DAY), "html")


def test_the_whole_record_has_every_part_numbered_as_the_contents_have_it(yard: Study, whole: str) -> None:
    document = blockcheck.book(yard, DAY).document()
    assert any(isinstance(one, Contents) for one in document.shown)
    assert [one.title for one in document.shown if isinstance(one, Form)] == ["Handed over", CHANGED]
    titles = [
        one.title if isinstance(one, Section) else "Drawing"
        for one in document.shown
        if isinstance(one, Section | Figure)
    ]
    assert titles == [
        *("Drawing", "Channel map", "Wire list", "Labels", "Control panel", "Budgets", "Volts, shorts and detection"),
        *("Waking in stages", "Test sheet", "Findings", "Left out in the layout", "The description"),
    ]
    headed = re.findall(r'<h2[^>]*><span class="no">(\d+)\u2002</span>([^<]+)</h2>', whole)
    assert headed == [(str(number), title) for number, title in enumerate(titles, 1)]
    contents = re.search(r'<nav class="contents".*?</nav>', whole, re.DOTALL)
    assert contents is not None
    assert re.findall(r"<a [^>]*>([^<]+)</a>", contents[0]) == titles


def test_it_warns_on_the_cover_and_before_power_is_switched_on(whole: str) -> None:
    at = [one.start() for one in re.finditer(re.escape(CAUTION), whole)]
    assert len(at) == whole.count('class="caution"') == 2
    assert at[0] < whole.index('class="no"') < whole.index("Dead: no power") < at[1] < whole.index("Live: power on")


def test_without_a_test_sheet_it_warns_before_waking(yard: Study) -> None:
    made = blockcheck.render(blockcheck.book(yard, DAY, without=["bench"]), "html")
    assert made.count(CAUTION) == 2
    assert made.rindex(CAUTION) > made.index('id="waking-in-stages"')


@pytest.mark.parametrize("part", PARTS)
def test_a_part_is_left_out_where_it_is_not_wanted(yard: Study, part: str) -> None:
    only, rest = blockcheck.book(yard, DAY, with_=[part]), blockcheck.book(yard, DAY, without=[part])
    assert only.parts == (part,)
    assert {*rest.parts} == {*PARTS} - {part}
    assert (
        len(only.document().shown) + len(rest.document().shown) == len(blockcheck.book(yard, DAY).document().shown) + 7
    )


def test_a_part_that_there_is_none_of_is_refused(yard: Study) -> None:
    with pytest.raises(CallError, match='a book has no part "wire"'):
        blockcheck.book(yard, DAY, with_=["wire"])


def test_a_date_and_a_revision_are_printed_where_they_are_asked_for(yard: Study, whole: str) -> None:
    assert "<dt>date</dt>" not in whole
    assert "<dt>revision</dt>" not in whole
    made = blockcheck.render(blockcheck.book(yard, DAY, dated="1 May", revision="C"), "html")
    assert "<dt>date</dt><dd>1 May</dd><dt>revision</dt><dd>C</dd>" in made


def test_what_was_read_last_stands_in_the_test_sheet(yard: Study) -> None:
    first = blockcheck.bench(yard).steps[0]
    book = blockcheck.book(yard, DAY, readings="read.toml", data=READ.format(id=first.id))
    made = blockcheck.render(book, "html")
    assert "Read last: 2026-03-04, the wiring party, with beeper." in made
    assert 'value="beeps (beeper)"' in made


def test_a_slip_in_the_readings_is_told(yard: Study) -> None:
    with pytest.raises(InputError, match="there is no test"):
        blockcheck.book(yard, DAY, readings="read.toml", data=READ.format(id="nothing"))


def test_the_workbook_has_the_tables_of_the_parts(yard: Study) -> None:
    titles = [one.title for one in blockcheck.book(yard, DAY).document().programs()]
    assert {"Pieces", "To buy", "Terminal strips", "Holes", "Test sheet"} <= {*titles}
    assert [one.title for one in blockcheck.book(yard, DAY, with_=["panel"]).document().programs()] == ["Holes"]
