"""The sheet by what is at hand: how long it is, that it sees what it says, and that nothing on it is spare."""

from __future__ import annotations

import random
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.benchmarks.generate import BENCH_HARNESS
from tests.benchmarks.generate import between_throats as yard
from tests.second_faults import Second
from tests.second_model import shown_by_a_meter

import blockcheck
from blockcheck import api, render
from blockcheck.analysis.bench.instruments import cover
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Predicted, predict
from blockcheck.analysis.bench.sheet import Sheet
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.units import cut, units
from blockcheck.analysis.bench.wired import AXLE, BEEPER, BEEPS_OHM, METER, OHMS, SILENT_OHM, SUPPLY
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.explained import explain
from blockcheck.answers.workshop.readings import AsExpected, read_readings
from blockcheck.core.errors import CallError

SMALL = Path(__file__).parents[3] / "examples/small-yard/yard.toml"


def sheet_of(study: Study, *at_hand: str) -> Sheet:
    bench = Bench.of(study)
    return Sheet(bench, bench.tests, at_hand, Tolerance())


def test_the_common_rail_of_a_loop_is_metered_though_its_device_shares_a_booster_with_what_it_meets() -> None:
    """A cut that is left out there shorts the booster as soon as the device turns; whether that conducts without power
    differs, so its pair is pulled off."""
    text = (SMALL.parents[1] / "turning-line/line.toml").read_text("utf-8").replace('booster = "B2"', 'booster = "B1"')
    answer = api.bench(api.loads(text.replace("boosters.B1-B2", "boosters.B1"), "line.toml"))
    common = {one.id for one in answer.steps if one.id.endswith(".common")}
    assert {"joint.west.loop.common", "joint.west.loop.2.common"} <= common
    assert not [one for one in answer.unseen if one.startswith("gap-bridged")]
    assert "Pull the pair of loop and tail off the device that turns its polarity." in answer.setup.dead


@pytest.mark.parametrize(
    ("text", "most"),
    [(SMALL.read_text("utf-8"), 25), (yard("detected"), 65), (yard("both"), 75)],
    ids=["small", "one rail", "both rails"],
)
def test_a_sheet_that_people_finish(text: str, most: int) -> None:
    """How many steps are few enough is our own measure, no source."""
    study = api.loads(text, "yard.toml")
    answer = api.bench(study)
    assert len(answer.steps) <= most
    assert {one.instrument for one in answer.steps} == {"", BEEPER, AXLE}
    gaps = {f"joint.{'.'.join(joint.blocks)}.detected" for joint in study.layout.joints}
    assert gaps <= {one.id for one in answer.steps}
    assert answer.joined == sum(joint.gap == "both" for joint in study.layout.joints)  # the bus joins both sides
    told = "\n".join(answer.besides_words())
    assert "with the supply" in told
    assert ("cannot be metered" in told) == bool(answer.joined)


def test_gaps_are_metered_where_lengths_are_not_known() -> None:
    """What is cut needs no data: the detected rails on both sides, which nothing else joins."""
    text = yard("both").replace(', length = "2.6 m", harness = "yard"', "")
    study = api.loads(text, "yard.toml")
    ids = {one.id for one in api.bench(study).steps}
    assert {f"joint.{end}.detected" for end in ("west.T3", "T3.east", "west.T9", "T9.east")} <= ids
    found = api.trace(study, "r.toml", data='format = 1\n[[steps]]\nid = "joint.west.T3.detected"\nreading = "beeps"\n')
    assert "gap-bridged:west,T3.detected" in found.candidates[0].faults


@pytest.mark.parametrize("at_hand", [(BEEPER, AXLE), (METER,), (AXLE, SUPPLY)], ids="+".join)
def test_the_short_order_sees_what_can_be_seen_and_nothing_on_it_is_spare(at_hand: tuple[str, ...]) -> None:
    sheet = sheet_of(api.load(SMALL), *at_hand)
    rows = sheet.short(1)
    number = {way: at for at, way in enumerate(sheet.ways)}
    chosen = [number[row.way] for row in rows]
    assert (sheet.seen[chosen].any(axis=0) == sheet.found).all()
    for one in chosen:
        rest = [other for other in chosen if other != one]
        assert one in sheet.always or (sheet.seen[rest].any(axis=0) != sheet.found).any()
    assert sum(row.caught for row in rows) == pytest.approx(float(sheet.worth[sheet.found].sum()))
    twice = sheet.seen[[number[row.way] for row in sheet.short(2)]].sum(axis=0)
    assert (twice >= np.minimum(sheet.seen.sum(axis=0), 2)).all()


def test_a_cover_is_of_what_can_be_seen_so_many_times() -> None:
    chance = np.random.default_rng(3)
    for _ in range(200):
        seen = chance.random((12, 20)) < 0.2
        worth, costs = chance.random(20), (1 + chance.random(12)).tolist()
        times, always = int(chance.integers(1, 4)), [int(chance.integers(12))]
        chosen = cover(seen, worth, costs, always, times)
        assert chosen[0] == always[0]
        want = np.minimum(seen.sum(axis=0), times)
        assert (seen[chosen].sum(axis=0) >= want).all()
        for one in chosen[1:]:
            assert (seen[[other for other in chosen if other != one]].sum(axis=0) < want).any()


def test_one_probe_stays_where_it_can() -> None:
    answer = api.bench(api.loads(yard("detected"), "yard.toml"))
    both = [one for one in answer.steps if one.place.endswith("both probes move")]
    assert all(one.red in one.place for one in answer.steps if one.kind == OHMS and one not in both)
    places = [one.place for one in answer.steps]
    changes = sum(one != other for one, other in pairwise(places))
    assert changes <= 8
    assert not {one.red for one in both} & {one.red for one in answer.steps if one not in both}


def test_what_a_sheet_for_beeper_and_axle_says_it_sees_a_second_model_shows() -> None:
    """Every such fault, put into a model that shares no code with the predictions, makes a step read otherwise."""
    sheet = sheet_of(api.load(SMALL), BEEPER, AXLE)
    rows = sheet.short(1)
    steps = [sheet.steps[row.way.test] for row in rows]
    right = [sheet.predicted.value(row.way.test, 0) for row in rows]
    faults = {fault.id: (fault, change) for (fault, change), one in zip(sheet.cases, sheet.found, strict=True) if one}
    chance = random.Random(9)
    for name in chance.sample(sorted(faults), 60):
        fault, _ = faults[name]
        if fault.guess or fault.size is not None:
            continue
        model = Second(SMALL.read_text("utf-8"), random.Random(1))
        model.break_(name, 1.0)
        off = 0
        for step, told in zip(steps, right, strict=True):
            read = model.read(step.id, step.kind, dict(step.state), step.across)
            if isinstance(told, Names):
                assert isinstance(read, frozenset)
                off += not told.may_be(read)
            else:
                assert isinstance(read, float)
                off += read <= BEEPS_OHM if told >= SILENT_OHM else read >= SILENT_OHM
        assert off, name


READ = 'format = 1\n[[steps]]\nid = "joint.neck.R1.detected"\nwith = "{}"\nreading = "{}"\n'


@pytest.mark.parametrize(
    ("instrument", "reading", "off"),
    [
        ("beeper", "silent", False),
        ("beeper", "beeps", True),
        ("beeper", "ok", False),
        ("meter", "0.3 ohm", True),
        ("meter", "open", False),
        ("supply", "50 mohm", True),
    ],
)
def test_readings_of_each_instrument(instrument: str, reading: str, off: bool) -> None:
    bench = Bench.of(api.load(SMALL))
    readings = read_readings(READ.format(instrument, reading).encode(), "readings.toml", bench, bench.by_id)
    assert readings[0].instrument == instrument
    assert isinstance(readings[0].value, AsExpected) == (reading == "ok")
    answer = explain((bench,), readings, Tolerance())
    assert bool(answer.off) == off
    if off:
        assert answer.off[0].expected == ("silent" if instrument == "beeper" else "open")
        assert "gap-bridged:neck,R1.detected" in answer.candidates[0].faults


def test_a_sheet_that_was_beeped_leads_to_the_fault() -> None:
    study = api.load(SMALL)
    answer, bench = api.bench(study), Bench.of(study)
    model = Second(SMALL.read_text("utf-8"), random.Random(4))
    model.break_("channels-swapped:D1.2,D1.3", 1.0)
    lines = ["format = 1"]
    for one in answer.steps:
        step = bench.by_id[one.id]
        read = shown_by_a_meter(model.read(step.id, step.kind, dict(step.state), step.across), random.Random(1))
        if isinstance(read, frozenset):
            words = ", ".join(sorted(read)) or "none"
        else:
            words = "beeps" if read <= BEEPS_OHM else "silent"
        lines.append(f'[[steps]]\nid = "{one.id}"\nwith = "{one.instrument}"\nreading = "{words}"')
    text = "\n".join(lines).replace('with = ""\n', "")
    found = api.trace(study, "readings.toml", data=text)
    assert found.candidates[0].faults == ("channels-swapped:D1.2,D1.3",)


def yards(count: int, tracks: int = 4) -> str:
    """Yards behind a throat each, one district; nothing but its feed ties them together."""
    text = yard("detected").partition("boards.D1-D2")[0]
    for number in range(1, count + 1):
        first, last = number * 10, number * 10 + tracks - 1
        text += f"""\
[boards.D{number}]
type = "eight"
[isolators.I{first}-I{last}]
[blocks.T{first}-T{last}]
channel = "D{number}.1-{tracks}"
isolator = "I{first}-I{last}"
length = "2.6 m"
harness = "y{number}"
[blocks.W{number}]
channel = "D{number}.8"
length = "1.{number} m"
harness = "y{number}"
[[joints]]
blocks = ["W{number}", "T{first}-T{last}"]
gap = "detected"
[harnesses.y{number}]
{BENCH_HARNESS}"""
    return text


def test_units_see_what_the_whole_sees(monkeypatch: pytest.MonkeyPatch) -> None:
    """On both sides of the switch: the same faults seen, and the same steps but for the breaker, which one of two equal
    places tries."""
    study = api.loads(yards(2), "yards.toml")
    assert units(study) == (study,)
    whole = api.bench(study)
    monkeypatch.setattr("blockcheck.analysis.bench.units.WHOLE", 9)
    assert [len(one.layout.blocks) for one in units(study)] == [5, 5]
    apart = api.bench(study)
    assert {one.kind: (one.seen, one.of) for one in apart.kinds} == {
        one.kind: (one.seen, one.of) for one in whole.kinds
    }
    assert (set(apart.unseen), apart.joined, apart.besides) == (set(whole.unseen), whole.joined, whole.besides)
    assert {one.id for one in apart.steps if one.kind != "trips"} == {
        one.id for one in whole.steps if one.kind != "trips"
    }
    tried = [[(one.names, one.amperes) for one in some.steps if one.kind == "trips"] for some in (apart, whole)]
    assert tried[0] == tried[1]
    assert [one.number for one in apart.steps] == [*range(1, len(apart.steps) + 1)]
    assert apart.steps[-1].caught == whole.steps[-1].caught == 1.0


def row(blocks: int) -> str:
    """Blocks of which nothing is known but how they are fed, one behind the other, each cut off in both rails."""
    lines = ["format = 1", 'layout = { name = "Row", control = "dcc" }']
    lines += ['boosters.B1 = { voltage = "14 V", current = "3 A" }', 'districts.d = { booster = "B1" }']
    lines += ['board_types.t = { channels = 4, threshold = "1 mA" }']
    lines += [f'boards.D{number} = {{ type = "t" }}' for number in range(-(-blocks // 4))]
    lines += [f"isolators.I{number} = {{}}" for number in range(blocks)]
    lines += [f'blocks.S{n} = {{ channel = "D{n // 4}.{n % 4 + 1}", isolator = "I{n}" }}' for n in range(blocks)]
    joints = (f'{{ blocks = ["S{n}", "S{n + 1}"], gap = "both" }}' for n in range(blocks - 1))
    return "\n".join([*lines, f"joints = [{', '.join(joints)}]"])


def test_a_row_is_taken_apart_where_both_rails_are_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same steps but for which switches are tried, and each kind seen as often but for what changes places between
    two boards."""
    study = api.loads(row(10), "row.toml")
    whole = api.bench(study)
    monkeypatch.setattr("blockcheck.analysis.bench.units.WHOLE", 4)
    assert [len(one.layout.blocks) for one, _ in cut(study)] == [5, 6, 3]  # with the blocks beyond the gaps
    apart = api.bench(study)
    told = [{one.id for one in some.steps if not one.id.startswith(("switch.", "asleep."))} for some in (apart, whole)]
    assert told[0] == told[1]
    assert len(apart.steps) == len(whole.steps)
    kinds = [
        {
            one.kind: (one.seen, one.of)
            for one in some.kinds
            if one.kind not in ("isolators-swapped", "wires-behind-isolators-swapped")
        }
        for some in (apart, whole)
    ]
    assert kinds[0] == kinds[1]


def test_a_large_layout_has_a_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty-five blocks and more are taken unit by unit, and the axle is one for all."""
    study = api.loads(yards(7), "yards.toml")
    assert len(units(study)) == 7
    monkeypatch.setattr("blockcheck.analysis.bench.predict.MOST_NODES", 200)
    answer = api.bench(study)
    assert {f"axle.W{number}.near" for number in range(1, 8)} <= {one.id for one in answer.steps}
    assert len([one for one in answer.steps if one.kind == "trips"]) == 1
    stages = [one.stage for one in answer.steps]
    assert stages == sorted(stages)


def test_what_hangs_together_is_one_unit() -> None:
    """A main line that two yards lead to, or an interlock between them."""
    text = yards(7)
    joint = '[[joints]]\nblocks = ["W1", "W2"]\ngap = "both"\n'
    bar = '[[interlocks]]\nnever = { I10 = "open", I20 = "open" }\nbecause = "one key"\n'
    for more in (joint, bar):
        assert len(units(api.loads(text + more, "yards.toml"))) == 6


def test_units_of_one_shape_are_looked_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What comes out is what each by itself gives, word for word. Of seven yards six are the same but for their names,
    wherever they are fed from."""
    text = re.sub(r'length = "1\.[1-6] m"', 'length = "1.5 m"', yards(7))
    other = 'boosters.B2 = { voltage = "15 V", current = "5 A", trip = "6 A" }\n'
    other += 'districts.west = { booster = "B2", feed = { wire = "2.5 mm2", length = "4 m" } }\n'
    text = text.replace("board_types.eight", f"{other}board_types.eight")
    for number in range(1, 8):
        district = "west" if number in (2, 5) else "yard"
        text = text.replace(f'D{number}]\ntype = "eight"', f'D{number}]\ntype = "eight"\nbanks = ["{district}"]')
    made = list[Bench]()

    def counted(bench: Bench, *of: Any) -> Predicted:
        made.append(bench)
        return predict(bench, *of)

    monkeypatch.setattr("blockcheck.analysis.bench.sheet.predict", counted)
    study = api.loads(text, "yards.toml")
    once = render(api.bench(study), "json")
    assert len(made) == 2
    monkeypatch.setattr(Sheet, "twin", None)
    assert render(api.bench(api.loads(text, "yards.toml")), "json") == once
    assert len(made) == 2 + 7


def plain(count: int, channels: int) -> Study:
    """So many tracks on one board, a switch each, and nothing known of their wires."""
    return api.loads(
        f"""format = 1
layout = {{ name = "Heron Staithe", control = "dcc" }}
boosters.B1 = {{ voltage = "15 V", current = "5 A" }}
districts.yard = {{ booster = "B1" }}
board_types.t = {{ channels = {channels}, threshold = "0.5 mA" }}
boards.D1 = {{ type = "t" }}
isolators.I1-I{count} = {{}}
blocks.T1-T{count} = {{ channel = "D1.1-{count}", isolator = "I1-I{count}" }}
"""
    )


@pytest.mark.parametrize(("count", "channels"), [(24, 24), (25, 25), (3, 40)])
def test_on_a_large_board_only_near_plugs_are_taken_for_each_other(count: int, channels: int) -> None:
    """All pairs of 24 places; of more, those that are twelve apart at most, so that they grow as the board does."""
    found = Counter(one.kind for one in causes(Bench.of(plain(count, channels))))
    near = sum(count - apart for apart in range(1, min(count, 13 if count > 24 else count)))
    assert found["channels-swapped"] == found["two-buses-in-one-terminal"] == 2 * near
    assert found["isolators-swapped"] == near
    spare = sum(min(channels, number + 12) - max(count, number) for number in range(1, count + 1))
    assert found["bus-on-free-channel"] == (spare if channels > count else 0)


def test_what_a_sheet_does_not_take_for_each_other_is_told() -> None:
    assert blockcheck.bench(plain(24, 24)).reach is None
    answer = blockcheck.bench(plain(25, 25))
    assert answer.reach == 12
    told = "plugs and switches more than 12 places apart are not taken for each other"
    assert told in " ".join(str(answer).split())


def test_a_sheet_of_too_many_readings_is_refused_before_they_are_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("blockcheck.analysis.bench.predict.MOST_READINGS", 10_000)
    with pytest.raises(CallError, match="too many for one sheet") as caught:
        blockcheck.bench(plain(20, 20))
    assert "--only GROUP" in str(caught.value.help)
    assert blockcheck.page(plain(20, 20)).tests is None
