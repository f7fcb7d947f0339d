"""The examples and the stock data: what they answer, and that their pages show just that.

``python tests/unit/test_examples.py`` writes fresh answers into the pages, for a look at what has changed.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import os
import re
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import ON
from blockcheck.model.operate import vehicles

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
PAGES = sorted(EXAMPLES.glob("*/README.md"))
FRONT = ROOT / "README.md"
STOCK = sorted((ROOT / "shared").glob("*.toml"))
CORRECT = (
    "small-yard/yard.toml",
    "club-yard/club.toml",
    "dc-yard/yard.toml",
    "growing-yard/before.toml",
    "growing-yard/after.toml",
    "turning-line/line.toml",
)
FAULTY = "faulty-yard/yard.toml"
FIRST = (*CORRECT, FAULTY)

ANSWER = re.compile(
    r"^`blockcheck (?P<call>[^`\n]+)` \(exit status (?P<status>\d)\)\n\n```text\n(?P<text>.*?)^```$", re.M | re.S
)
"""A command on a line of its own, and what it answers."""
QUOTED = re.compile(r"^```toml\n(.*?)^```$", re.M | re.S)

FAULTS = [
    ("channel-shared", "D1.7", ["S7", "S8"], 62, 11, 'channel = "D1.7"'),
    ("district-over-current", "shed", [], 25, 11, 'current = "1.5 A"'),
    ("gap-missing", "S5", ["ladder"], 106, 7, 'gap = "common"'),
    ("isolation-overreach", "I4", ["S1", "S2", "S3"], 79, 8, 'side = "before-detector"'),
    ("train-too-long", "clay", ["S6"], 209, 6, 'at = "S6"'),
]
"""Rule, subject, the others, line, column, the line's text."""

MENDED = {
    "channel-shared": [('channel = "D1.7"', 'channel = "D1.8"'), ("spare = [8, 10", "spare = [10")],
    "district-over-current": [('"goods-engine", count = 10', '"goods-engine", count = 4')],
    "gap-missing": [('gap = "common"', 'gap = "detected"')],
    "isolation-overreach": [('side = "before-detector"', 'side = "after-detector"')],
    "train-too-long": [("wagon = 18", "wagon = 17")],
}
"""Rule -> what to write instead."""


def names(prefix: str, numbers: range) -> set[str]:
    return {f"{prefix}{number}" for number in numbers}


DEAD = {
    ("small-yard/yard.toml", None): set[str](),
    ("small-yard/yard.toml", "night"): names("R", range(1, 7)),
    ("small-yard/yard.toml", "morning"): names("R", range(3, 6)),
    ("club-yard/club.toml", None): set[str](),
    ("club-yard/club.toml", "night"): names("S", range(1, 11)) | names("Q", range(1, 6)),
    ("club-yard/club.toml", "show"): names("S", range(3, 11)),
    ("growing-yard/before.toml", None): set[str](),
    ("growing-yard/after.toml", None): set[str](),
    ("growing-yard/after.toml", "night"): names("W", range(1, 7)),
    ("turning-line/line.toml", None): {"S2", "S3", "quarry"},
    ("turning-line/line.toml", "night"): names("S", range(1, 4)) | {"quarry"},
    ("turning-line/line.toml", "turning"): {"S2", "S3", "quarry"},
    ("dc-yard/yard.toml", None): names("K", range(1, 6)),
    ("dc-yard/yard.toml", "two-up"): names("K", range(1, 6)),
    ("dc-yard/yard.toml", "putting-away"): {"K1", "K2", "K3", "K5"},
    ("dc-yard/yard.toml", "closed"): {*names("K", range(1, 6)), "west-loop", "east-loop", "ladder"},
}
"""Layout and scenario -> the blocks without power, told from the plan of each yard."""


@pytest.fixture(autouse=True)
def _at_the_top(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def answer(call: str) -> tuple[int, str]:
    """The exit status of a call and what it prints, 100 wide."""
    printed = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.redirect_stdout(printed):
        status = main(shlex.split(call))
    printed.seek(0)
    return status, printed.read()


def json_of(call: str) -> tuple[int, dict[str, Any]]:
    status, text = answer(f"{call} --format json")
    found: dict[str, Any] = json.loads(text)
    return status, found


def case_of(name: str) -> Study:
    return api.load(EXAMPLES / name)


@pytest.mark.parametrize("name", CORRECT)
def test_a_correct_example_has_no_finding(name: str) -> None:
    status, found = json_of(f"check examples/{name} --fail-on note")
    assert status == 0
    assert found["findings"] == []
    assert found["unchecked"] == []


def test_the_club_accepts_what_it_says() -> None:
    _, found = json_of("check examples/club-yard/club.toml")
    assert [(one["rule"], one["subject"]) for one in found["accepted"]] == [("storage-not-isolatable", "pilot-road")]


def test_the_faulty_example_has_just_its_five_faults() -> None:
    status, found = json_of(f"check examples/{FAULTY}")
    assert status == 1
    lines = (EXAMPLES / FAULTY).read_text("utf-8").splitlines()
    assert [
        (
            *(one[key] for key in ("rule", "subject", "with", "line", "column")),
            lines[one["line"] - 1],
        )
        for one in found["findings"]
    ] == FAULTS
    assert {one["severity"] for one in found["findings"]} == {"error"}
    assert {one["file"] for one in found["findings"]} == {f"examples/{FAULTY}"}
    assert found["unchecked"] == []


def test_the_faults_are_of_five_families() -> None:
    families = {json_of(f"explain {rule}")[1]["rules"][0]["family"] for rule, *_ in FAULTS}
    assert families == {"structure", "budgets", "joining", "isolation", "operation"}


def test_the_faulty_example_gives_nothing_away() -> None:
    text = (EXAMPLES / FAULTY).read_text("utf-8").casefold()
    assert not re.search(r"fault|wrong|error|mistake|should|fixme|todo", text)


@pytest.mark.parametrize("rule", MENDED)
def test_mending_one_fault_leaves_the_other_four(rule: str) -> None:
    text = mended((EXAMPLES / FAULTY).read_text("utf-8"), rule)
    found = api.check(api.loads(text, FAULTY)).findings
    assert [one.rule for one in found] == [one for one, *_ in FAULTS if one != rule]


def test_mending_all_faults_leaves_nothing() -> None:
    text = (EXAMPLES / FAULTY).read_text("utf-8")
    for rule in MENDED:
        text = mended(text, rule)
    found = api.check(api.loads(text, FAULTY))
    assert found.findings == ()
    assert found.unchecked == ()


def mended(text: str, rule: str) -> str:
    for before, after in MENDED[rule]:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    return text


@pytest.mark.parametrize("page", [FRONT, *PAGES], ids=lambda page: page.parent.name)
def test_a_page_shows_fresh_answers(page: Path) -> None:
    shown = list(ANSWER.finditer(page.read_text("utf-8")))
    assert any(match["call"].startswith("check ") for match in shown)
    assert page.read_text("utf-8").count("```text") == len(shown), "an answer without its command"
    for match in shown:
        assert answer(match["call"]) == (int(match["status"]), match["text"]), match["call"]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.parent.name)
def test_a_page_quotes_its_layout(page: Path) -> None:
    layouts = "".join(path.read_text("utf-8") for path in page.parent.glob("*.toml"))
    for quoted in QUOTED.findall(page.read_text("utf-8")):
        assert quoted in layouts


def test_the_layout_of_your_own_on_the_front_page_is_right() -> None:
    text = next(one for one in QUOTED.findall(FRONT.read_text("utf-8")) if one.startswith("format"))
    assert len(text.splitlines()) <= 15
    found = api.check(api.loads(text, "own.toml"))
    assert found.findings == ()
    assert len(found.unchecked) > 0


def test_the_faulty_page_quotes_the_line_of_every_fault() -> None:
    quoted = "".join(QUOTED.findall((EXAMPLES / "faulty-yard" / "README.md").read_text("utf-8")))
    for *_, line in FAULTS:
        assert f"{line}\n" in quoted


def test_every_example_has_a_page_and_is_tested() -> None:
    assert [page.parent for page in PAGES] == sorted(path for path in EXAMPLES.iterdir() if path.is_dir())
    assert {name.split("/")[0] for name in FIRST} == {page.parent.name for page in PAGES}


def test_the_lower_yard_sleeps_and_the_rest_does_not() -> None:
    status, found = json_of("isolate examples/club-yard/club.toml lower:3-5")
    assert status == 0
    assert found["opened"] == ["I3", "I4", "I5"]
    changed = {one["block"]: (one["power"], one["detection"]) for one in found["blocks"] if one["changed"]}
    assert changed == dict.fromkeys(("S3", "S4", "S5"), ("off", "blind"))
    # three locomotives of 0.1 A sleep; ten were awake, two of them railcars of 70 mA; and so many axles draw V / R
    lower = next(one for one in found["districts"] if one["district"] == "lower")
    case = case_of("club-yard/club.toml")
    axles = {block: 0.0 for block, fed in case.wiring.fed.items() if fed.district == "lower"}
    for train in case.layout.trains.values():
        siemens = [count / (case.layout.loads[name].axle_ohm or math.inf) for name, count in train.vehicles.items()]
        if train.at in axles:
            axles[train.at] += sum(siemens) * case.layout.boosters["B1"].voltage_v
    asleep = {"S3", "S4", "S5"}
    assert lower["before"] == pytest.approx(8 * 0.1 + 2 * 0.07 + sum(axles.values()))
    left = sum(amperes for block, amperes in axles.items() if block not in asleep)
    assert lower["after"] == pytest.approx(5 * 0.1 + 2 * 0.07 + left)
    assert lower["limit"] == 4
    assert found["unintended"] == []


def test_the_quay_sleeps_and_still_reads() -> None:
    status, found = json_of("isolate examples/club-yard/club.toml upper")
    assert status == 0
    changed = {one["block"]: (one["power"], one["detection"]) for one in found["blocks"] if one["changed"]}
    assert changed == dict.fromkeys(("Q1", "Q2", "Q3", "Q4", "Q5"), ("trickle", "held"))
    assert {one["train"]: one["reads"] for one in found["trains"] if one["block"] in changed} == {
        "fish": "occupied",
        "empties": "occupied",
    }
    assert found["not_isolatable"] == ["pilot-road", "quay-line", "quay-throat", "summit", "weighbridge"]


def test_a_track_number_of_both_decks_is_ambiguous(capsys: pytest.CaptureFixture[str]) -> None:
    assert answer("isolate examples/club-yard/club.toml 3")[0] == 2
    printed = capsys.readouterr().err
    assert "ambiguous" in printed
    assert "lower:3" in printed
    assert "upper:3" in printed


def test_a_cab_lets_go_of_one_track() -> None:
    status, found = json_of("isolate examples/dc-yard/yard.toml X-east --scenario two-up")
    assert status == 0
    assert [(one["block"], one["district"]) for one in found["blocks"] if one["changed"]] == [("east-loop", "east")]
    assert [(one["before"], one["after"]) for one in found["districts"] if one["district"] == "east"] == [(0.35, 0.0)]


@pytest.mark.parametrize("section", ["loop", "tail"])
def test_a_section_that_turns_trains_and_cannot_change_over_is_found(section: str) -> None:
    text = (EXAMPLES / "turning-line/line.toml").read_text("utf-8")
    changes = f'return = "{section}"\npolarity = "automatic"\nturns_at = "2 A"\nturn_delay = "1 ms"\n'
    assert text.count(changes) == 1
    found = api.check(api.loads(text.replace(changes, f'return = "{section}"\n'), "line.toml")).findings
    assert {one.rule for one in found} == {"rails-crossed"}
    assert section in {name for one in found for name in (one.subject, *one.others, *(one.way or ()))}


def test_a_loop_that_is_too_short_for_a_train_is_found() -> None:
    text = (EXAMPLES / "turning-line/line.toml").read_text("utf-8").replace('length = "4.2 m"', 'length = "1.8 m"')
    found = api.check(api.loads(text, "line.toml")).findings
    assert {one.rule for one in found} == {"reversing-too-short", "train-too-long"}


def test_the_faulty_switch_takes_its_neighbours_along() -> None:
    status, found = json_of(f"isolate examples/{FAULTY} S4")
    assert status == 1
    assert {one["block"]: one["because"] for one in found["unintended"]} == {
        "S1": ["I4"],
        "S2": ["I4"],
        "S3": ["I4"],
    }


@pytest.mark.parametrize("name", CORRECT)
def test_the_scenarios_come_out_as_planned(name: str) -> None:
    case = case_of(name)
    assert {(name, one.scenario) for one in case.operations} == {key for key in DEAD if key[0] == name}
    for operation in case.operations:
        now = case.now(operation.positions)
        assert {block for block in case.blocks if now.power(block) != ON} == DEAD[name, operation.scenario]
        if operation.scenario is not None:
            assert any(operation.expect.values()), operation.scenario


@pytest.mark.parametrize(("name", "scenario"), [key for key in DEAD if key[1] is not None])
def test_an_expectation_turned_round_is_found(name: str, scenario: str, tmp_path: Path) -> None:
    for path in (EXAMPLES / name).parent.glob("*.toml"):
        text = path.read_text("utf-8")
        before, header, after = text.partition(f"[scenarios.{scenario}]")
        here, bracket, rest = after.partition("\n[")
        here = re.sub(r"\bdead = ", "lit_ = ", here).replace("lit = ", "dead = ").replace("lit_ = ", "lit = ")
        (tmp_path / path.name).write_text(before + header + here + bracket + rest, "utf-8")
    found = api.check(api.load(tmp_path / Path(name).name)).findings
    assert {one.rule for one in found} == {"scenario-expectation"}
    assert {one.subject for one in found} == {scenario}


WITH_STOCK = """format = 1
include = ["stock:{stock}"]
[layout]
name = "Stock"
control = "dcc"
"""


def test_there_is_stock_data() -> None:
    assert [path.stem for path in STOCK] == ["boards", "locomotives"]


@pytest.mark.parametrize("path", STOCK, ids=lambda path: path.stem)
def test_stock_data_loads_in_a_layout(path: Path) -> None:
    case = api.loads(WITH_STOCK.format(stock=path.stem), "stock.toml")
    assert case.layout.loads if path.stem == "locomotives" else case.layout.board_types
    assert [finding.rule for finding in api.check(case).findings] == ["nothing-described"]


def test_stock_locomotives_have_all_that_a_budget_needs() -> None:
    loads = api.loads(WITH_STOCK.format(stock="locomotives"), "stock.toml").layout.loads
    # typical ranges of sound locomotives: common practice, no source; amperes
    ranges = {
        "n-sound": ((0.03, 0.10), (0.10, 0.30), (0.5, 1)),
        "ho-sound": ((0.05, 0.15), (0.25, 0.50), (1, 2)),
        "o-sound": ((0.1, 0.3), (0.7, 1.5), (3, 5)),
        "large-sound": ((0.2, 0.5), (1, 3), (5, 10)),
    }
    assert {name for name, load in loads.items() if load.locomotive} == ranges.keys()
    for name, bounds in ranges.items():
        load = loads[name]
        for current, (low, high) in zip((load.idle_a, load.running_a, load.stalled_a), bounds, strict=True):
            assert current is not None
            assert low <= current <= high
        assert load.sound
        assert load.capacitance_f is not None
        assert 100e-6 <= load.capacitance_f <= 1000e-6  # on-board storage: common practice, no source
        assert load.length_m is not None
    for name, load in loads.items():
        if not load.locomotive:
            assert load.axle_ohm in (15_000.0, 7_500.0), name  # NEM 624: 15 kohm an axle; one or two are fitted
            assert load.length_m is not None


@pytest.mark.parametrize(
    ("name", "ratio", "metres"),
    # ratios of NEM 010 (HO: NMRA S-1.2); an 18 m locomotive and a 12 m wagon
    [
        ("n-sound", 160, 18),
        ("n-wagon", 160, 12),
        ("ho-sound", 87.1, 18),
        ("ho-wagon", 87.1, 12),
        ("ho-coach", 87.1, 24),
        ("o-sound", 45, 18),
        ("o-wagon", 45, 12),
        ("large-sound", 22.5, 18),
        ("large-wagon", 22.5, 12),
    ],
)
def test_stock_vehicles_are_to_scale(name: str, ratio: float, metres: float) -> None:
    load = api.loads(WITH_STOCK.format(stock="locomotives"), "stock.toml").layout.loads[name]
    assert load.length_m == pytest.approx(metres / ratio, rel=0.03)


def test_stock_vehicles_that_nobody_uses_change_no_answer() -> None:
    path = EXAMPLES / "small-yard" / "yard.toml"
    plain = path.read_text("utf-8")
    stocked = plain.replace("format = 1\n", 'format = 1\ninclude = ["stock:locomotives"]\n')
    assert stocked != plain
    with_stock, without = (api.loads(text, path) for text in (stocked, plain))
    assert {one.name for one in vehicles(with_stock.wiring)} == set(without.layout.loads)
    assert api.check(with_stock).findings == ()


def refreshed(text: str) -> Iterator[str]:
    """A page with fresh answers."""
    end = 0
    for match in ANSWER.finditer(text):
        status, printed = answer(match["call"])
        yield text[end : match.start()]
        yield f"`blockcheck {match['call']}` (exit status {status})\n\n```text\n{printed}```"
        end = match.end()
    yield text[end:]


if __name__ == "__main__":
    os.chdir(ROOT)
    for one in (FRONT, *PAGES):
        one.write_text("".join(refreshed(one.read_text("utf-8"))), "utf-8")
    sys.exit(0)
