"""The page in hand in Debian's chromium: what it says of any open switches is what ``isolate`` says."""

from __future__ import annotations

import math
import os
from itertools import count
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

import blockcheck
from blockcheck.core.errors import CallError
from blockcheck.model.operate import open_position
from blockcheck.types import IsolateAnswer, Study
from tests.outside.inhand import ROOT, example, written
from tests.properties.layouts import Values, layouts, load

EXAMPLES = ("small", "club", "dc", "faulty", "turning-line/line")
LAYOUTS = sorted((ROOT / "tests" / "outside" / "layouts").glob("*.toml"))
NUMBERS = count()
MANY = int(os.environ.get("PAGE_STATES", "8"))
"""Sets of switches and scenarios of each layout; 500 were asked, which takes minutes."""

TELL = """
(cases) => cases.map(([number, moved]) => {
  const { stand, answer, sentence, districtWords, trainWords, unmeantWords } = blockcheck;
  const told = answer(stand(number), stand(number, moved));
  const rows = [...told.rows.values()];
  return {
    blocks: rows.map((row) => [row.block, row.home, row.power, row.detection, row.because, row.intended, row.changed,
                               row.trains]),
    trains: told.trains.map((one) => [one.train, one.block, one.powered, one.reads]),
    districts: told.districts.map((one) => [one.district, one.before, one.after]),
    sentence: Object.keys(moved).length ? sentence(told) : "",
    freed: told.districts.map(districtWords),
    unmeant: told.unmeant.map(unmeantWords),
    slept: told.trains.map((one) => trainWords(one, told.rows.get(one.block))),
  };
})
"""


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """One window for all."""
    window = browser.new_page()
    yield window
    window.close()


def show(window: Page, study: Study, folder: Path, sheet: bool = False) -> None:
    path = folder / f"page-{next(NUMBERS)}.html"
    path.write_text(written(study, sheet), "utf-8")
    window.goto(path.as_uri())
    window.wait_for_selector("body[data-ready]")


def states(study: Study, random: Random, many: int) -> list[tuple[int, list[str]]]:
    """Ways of operating, with some isolators to open on top."""
    able = [name for name in study.layout.isolators if open_position(study.wiring, name) is not None]
    able = [name for name in able if study.circuit.contacts.get(name)]
    found = []
    for _ in range(many):
        some = random.sample(able, min(len(able), random.choice((1, 1, 2, 3, len(able)))))
        found.append((random.randrange(len(study.operations)), some))
    return [one for one in found if one[1]]


def agree(window: Page, study: Study, cases: list[tuple[int, list[str]]]) -> int:
    """What the page says is what isolate says; how many of the cases there were, interlocks aside."""
    answers: list[tuple[int, IsolateAnswer]] = []
    refused: list[tuple[int, list[str], str]] = []
    for number, names in cases:
        try:
            answers.append((number, blockcheck.isolate(study, ",".join(names), study.operations[number].scenario)))
        except CallError as error:  # an interlock keeps it out, or a name is that of a block too
            if "cannot be: " in str(error):
                refused.append((number, names, str(error)))
    for number, names, message in refused:
        moved = {name: open_position(study.wiring, name) for name in names}
        assert (
            window.evaluate("([n, moved]) => blockcheck.broken(blockcheck.stand(n, moved))", [number, moved]) == message
        )
    told = window.evaluate(
        TELL,
        [[number, {name: open_position(study.wiring, name) for name in answer.opened}] for number, answer in answers],
    )
    for (_, answer), page in zip(answers, told, strict=True):
        same(answer, page)
    return len(answers)


def same(answer: IsolateAnswer, page: dict[str, Any]) -> None:
    rows = {row[0]: row[1:] for row in page["blocks"]}
    for one in answer.blocks:
        home, power, detection, because, intended, changed, trains = rows[one.block]
        assert (home, power, detection) == (one.district, one.power, one.detection), one
        assert intended in (None, one.intended), one
        assert intended is not None or power == "trickle", one
        assert (sorted(because), changed, sorted(trains)) == (sorted(one.because), one.changed, sorted(one.trains)), one
    for train, own in zip(answer.trains, page["trains"], strict=True):
        assert own[:2] == [train.train, train.block]
        assert own[2] in (None, train.powered), train
        assert own[3] in (None, train.reads), train
        assert own[2] is not None or rows[train.block][1] == "trickle"
    known = True
    for district, (name, before, after) in zip(answer.districts, page["districts"], strict=True):
        assert name == district.district
        for own, its in ((before, district.before_a), (after, district.after_a)):
            known &= own is not None
            assert own is None or math.isclose(own, its, rel_tol=1e-8, abs_tol=1e-9), district
    if not any(row[4] is None for row in rows.values()):
        assert page["sentence"] == answer._sentence()
        assert page["unmeant"] == [one.unmeant for one in answer.unmeant]
    states = {one.block: one for one in answer.blocks}
    for train, own, words in zip(answer.trains, page["trains"], page["slept"], strict=True):
        if own[2] is not None and own[3] is not None and not (states[train.block].changed and train.powered):
            assert words == train.sentence(states[train.block])
    if known:
        assert [one.replace("\u00a0", " ") for one in page["freed"]] == [one.sentence for one in answer.districts]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_page_says_what_isolate_says(page: Page, name: str, tmp_path: Path) -> None:
    study = example(name)
    show(page, study, tmp_path)
    assert agree(page, study, states(study, Random(7), MANY)) >= MANY // 3
    chips = page.evaluate("[...document.querySelectorAll('[data-show]')].map((one) => one.dataset.show)")
    boards = [one.board.name for one in study.wiring.fed.values() if one.board is not None]
    assert [one for one in chips if one.startswith("board ")] == [
        f"board {one}" for one in study.layout.boards if one in boards
    ]


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: path.stem)
def test_layouts_with_everything_in_the_feed(page: Page, path: Path, tmp_path: Path) -> None:
    study = blockcheck.load(path)
    show(page, study, tmp_path)
    agree(page, study, states(study, Random(5), MANY))


@settings(deadline=None, max_examples=8)
@given(values=layouts(interlocked=True), seed=st.integers(0, 1000))
def test_layouts_at_random(page: Page, tmp_path_factory: pytest.TempPathFactory, values: Values, seed: int) -> None:
    study = load(values)
    show(page, study, tmp_path_factory.mktemp("random"))
    agree(page, study, states(study, Random(seed), MANY))


FED = """
([every, share]) => {
  blockcheck.open("tests");
  const { faults, steps, explained, taken } = blockcheck, odd = [];
  const words = (one, told) => {
    if (told >= 1e5) return "open";
    const made = one.made?.reduce((sum, part, at) => sum + part * (share?.[at] ?? 0), 1) ?? 1;
    if (typeof told === "number") return one.kind === "volts" ? `${told} V` : `${told * made} ohm`;
    const sure = told.split("; perhaps ")[0];
    if (!sure.startsWith("+")) return sure;
    return [...one.names, sure.slice(1)].join(", ");
  };
  for (const [number, fault] of faults.entries()) {
    if (number % every) continue;
    taken().clear();
    for (const one of steps) {
      if (fault.reads.has(one.step)) taken().set(one.step, { reading: words(one, fault.reads.get(one.step)), on: "" });
      else if (share === null) taken().set(one.step, { reading: "ok", on: "" });
      else {
        const reading = one.names ? one.names.join(", ") || "none" : words(one, one.value ?? 1e5);
        taken().set(one.step, { reading, on: "" });
      }
    }
    const { found, left } = explained();
    if (!found.includes(fault) || left !== 0) odd.push([fault.words, found.map((other) => other.words), left]);
  }
  taken().clear();
  return { odd, count: faults.length };
}
"""


@pytest.mark.parametrize(("name", "every"), [("small", 1), ("club", 11)])
def test_a_fault_comes_first_or_tied_by_its_own_readings(page: Page, name: str, every: int, tmp_path: Path) -> None:
    show(page, example(name), tmp_path, sheet=True)
    told = page.evaluate(FED, [every, None])
    assert told["count"] > 250
    assert told["odd"] == []


@pytest.mark.parametrize(
    ("at_hand", "share"),
    [
        ("meter", None),
        ("supply", None),
        ("supply", [0.2, 0.2, 0.2]),
        ("supply", [0.2, -0.1, 0.8]),
        ("meter", [0.2, 0.1, 0.9]),
    ],
)
def test_so_it_does_by_ohms_and_volts(page: Page, at_hand: str, share: list[float] | None, tmp_path: Path) -> None:
    """Also where what reads no ohms is written as a meter shows it, open, and where rails, wires and joints have more
    ohms than is reckoned with, or less."""
    path = tmp_path / "page.html"
    path.write_text(blockcheck.render(blockcheck.page(example("small"), at_hand=[at_hand]), "html"), "utf-8")
    page.goto(path.as_uri())
    told = page.evaluate(FED, [1, share])
    assert told["count"] > 200
    assert len(told["odd"]) <= (0 if share is None else told["count"] / 10), told["odd"]
