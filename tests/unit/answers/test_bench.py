"""The test sheet and the tracing of its readings, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import tomli
import tomli_w
from jsonschema import Draft7Validator
from tests.benchmarks.generate import layout

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM
from blockcheck.core.errors import OutOfTimeError
from blockcheck.text.includes import shipped

FULL = ("--with", "axle,supply", "--each")
ROOT = Path(__file__).resolve().parents[3]
SMALL, DC = ROOT / "examples/small-yard/yard.toml", ROOT / "examples/dc-yard/yard.toml"


def valid(command: str, text: str) -> dict[str, object]:
    answer: dict[str, object] = json.loads(text)
    Draft7Validator(json.loads((shipped("schemas") / f"{command}.schema.json").read_text("utf-8"))).validate(answer)
    return answer


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = main([*arguments])
    seen = capsys.readouterr()
    return status, seen.out, seen.err


def filled(layout: Path, into: Path, fault: str | None, sheet: str) -> Path:
    """A sheet filled with what the meter shows on wiring with a fault."""
    bench = Bench.of(api.load(layout))
    changes = [one.change for one in every_fault(bench) if one.id == fault]
    told = predict(bench, bench.tests, changes)
    number = {step.id: at for at, step in enumerate(bench.tests)}
    values = tomli.loads(sheet)
    for one in values["steps"]:
        value, kind = told.value(number[one["id"]], len(changes)), bench.by_id[one["id"]].kind
        if not isinstance(value, float):
            one["reading"] = ", ".join(sorted(value)) or "none"
        elif kind == OHMS:
            one["reading"] = "open" if value >= OPEN_OHM else f"{1000 * value:.2f} mohm"
        else:
            one["reading"] = f"{value:.2f} V"
    into.write_text(tomli_w.dumps(values), "utf-8")
    return into


@pytest.mark.parametrize("layout", [SMALL, DC], ids=["small", "dc"])
def test_a_sheet_in_every_format(layout: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, text, _ = run(capsys, "bench", str(layout), "--format", "json")
    answer = valid("bench", text)
    steps = answer["steps"]
    assert isinstance(steps, list)
    assert status == 0
    assert [one["step"] for one in steps] == [*range(1, len(steps) + 1)]
    stages = [one["stage"] for one in steps]
    assert stages == sorted(stages)  # dead before live
    live = [one["kind"] for one in steps if one["stage"] == "live"]
    assert live == sorted(live, key=lambda kind: kind != "trips") or "trips" in live[:2]
    sheet = tomli.loads(run(capsys, "bench", str(layout), "-f", "toml")[1])
    assert [one["id"] for one in sheet["steps"]] == [one["id"] for one in steps]
    table = run(capsys, "bench", str(layout), "-f", "csv")[1]
    assert table.count("\r\n") == len(steps) + 1
    for kind in ("text", "markdown", "html"):
        page = run(capsys, "bench", str(layout), "-f", kind)[1]
        assert "Track power can start a fire" in page
        assert page.count("expect") >= 1
    assert page.count('type="text"') == len(steps)


def test_a_breaker_is_tried_before_anything_else_is_done_with_power_on(capsys: pytest.CaptureFixture[str]) -> None:
    answer = valid("bench", run(capsys, "bench", str(SMALL), "--format", "json")[1])
    steps = answer["steps"]
    assert isinstance(steps, list)
    assert steps[0]["id"] == "district.ropewalk"
    first = next(one for one in steps if one["stage"] == "live")
    assert (first["kind"], first["names"]) == ("trips", ["B1"])
    assert first["current"] == pytest.approx(50.7, rel=0.01)  # as power has it for the worst place


def test_a_sketch_with_the_drops_numbered_heads_the_steps_on_a_block(capsys: pytest.CaptureFixture[str]) -> None:
    """Drops of R2 (2.4 m) are at a quarter and at three quarters of it: 10 and 30 of 40 signs."""
    answer = api.bench(api.load(SMALL), at_hand=("axle", "supply"))
    sketches = {one.block: one for one in answer.tracks}
    assert sketches["R2"].drops_m == pytest.approx((0.6, 1.8))
    assert (
        sketches["R2"].sketch == f"R2: near |{'-' * 10}1{'-' * 19}2{'-' * 9}| far, 2.4 m; drops: 1 at 60 cm, 2 at 1.8 m"
    )
    text = run(capsys, "bench", str(SMALL), "--with", "axle,supply")[1]
    assert "red on the bus plug of D1:2:\n  R2: near |" in text
    text = run(capsys, "bench", str(SMALL))[1]  # from the far end of the neck, and at ends of tracks
    assert "neck: near |" in text
    assert "R2: near |" not in text


def test_a_sheet_of_one_group_and_of_what_has_changed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    club = str(ROOT / "examples/club-yard/club.toml")
    answer = valid("bench", run(capsys, "bench", club, "--only", "upper", "--format", "json")[1])
    steps = answer["steps"]
    assert isinstance(steps, list)
    others = [one["id"] for one in steps if one["group"] != "upper"]
    assert all(one.startswith(("joint.ramp.summit", "district")) for one in others)  # what the group borders on
    status, _, error = run(capsys, "bench", club, "--only", "uper")
    assert (status, error) == (2, 'error  there is no group "uper"\n       did you mean "upper"?\n')
    old = tmp_path / "old.toml"
    old.write_text(SMALL.read_text("utf-8").replace('length = "2.7 m"', 'length = "2.6 m"'), "utf-8")
    answer = valid("bench", run(capsys, "bench", str(SMALL), *FULL, "--since", str(old), "--format", "json")[1])
    assert answer["changed"] == ["I5", "R5"]
    steps = answer["steps"]
    assert isinstance(steps, list)
    assert 0 < len(steps) < 20
    assert all("R5" in one["id"] for one in steps)
    status, text, _ = run(capsys, "bench", str(SMALL), "--since", str(SMALL))
    assert status == 0
    assert "nothing has changed" in text


def test_a_layout_without_lengths_is_tested_for_what_is_connected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bare.toml"
    path.write_text(
        'format = 1\nlayout = { name = "Bare", control = "dcc" }\n'
        'boosters.B1 = { voltage = "14 V", current = "3 A" }\ndistricts.d = { booster = "B1" }\n'
        'board_types.eight = { channels = 8, threshold = "1.5 mA" }\nboards.D1 = { type = "eight" }\n'
        'isolators.I1-I2 = {}\n[blocks]\nS1-S2 = { channel = "D1.1-2", isolator = "I1-I2" }\n',
        "utf-8",
    )
    status, text, _ = run(capsys, "bench", str(path), *FULL)
    assert status == 0
    assert "connected: less than 2" in text
    readings = tmp_path / "readings.toml"
    sheet = run(capsys, "bench", str(path), *FULL, "-f", "toml")[1]
    filled(path, readings, "channels-swapped:D1.1,D1.2", sheet)
    status, text, _ = run(capsys, "trace", str(path), str(readings), "-f", "json")
    answer = valid("trace", text)
    candidates = answer["candidates"]
    assert isinstance(candidates, list)
    assert status == 1
    assert "channels-swapped:D1.1,D1.2" in [fault["fault"] for one in candidates for fault in one["faults"]]


def test_readings_are_traced_to_their_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = run(capsys, "bench", str(SMALL), *FULL, "-f", "toml")[1]
    readings = filled(SMALL, tmp_path / "readings.toml", "channels-swapped:D1.2,D1.3", sheet)
    for kind in ("text", "markdown", "html"):
        status, text, _ = run(capsys, "trace", str(SMALL), str(readings), "-f", kind)
        assert status == 1
        assert "The buses of R2 and R3 are swapped at the board" in text
        assert "Track power can start a fire" in text
    answer = valid("trace", run(capsys, "trace", str(SMALL), str(readings), "-f", "json")[1])
    following = answer["next"]
    assert isinstance(following, dict)  # which tells it from wires that are swapped behind the switches
    assert (answer["tied"], following["id"], answer["pairs"]) == (2, "asleep.I2.open.R2", 0)
    readings = filled(SMALL, readings, "drop-missing:R1.detected.2", sheet)
    answer = valid("trace", run(capsys, "trace", str(SMALL), str(readings), "-f", "json")[1])
    following = answer["next"]
    assert isinstance(following, dict)
    assert following["id"] == "tap.R1.2"  # on the bus itself: no test on the sheet tells the drop from the joint


def test_wiring_that_is_right(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = run(capsys, "bench", str(SMALL), *FULL, "-f", "toml")[1]
    readings = filled(SMALL, tmp_path / "readings.toml", None, sheet)
    status, text, _ = run(capsys, "trace", str(SMALL), str(readings))
    assert status == 0
    assert "The wiring is right, as far as these readings tell." in text
    assert "1  Nothing is wrong" in text
    readings.write_text(sheet.replace('reading = ""', 'reading = "ok"'), "utf-8")
    assert run(capsys, "trace", str(SMALL), str(readings))[0] == 0
    readings.write_text(sheet, "utf-8")
    status, text, _ = run(capsys, "trace", str(SMALL), str(readings), "-f", "json")
    assert (status, valid("trace", text)["taken"]) == (0, 0)


BAD = [
    ('format = 1\n[[steps]]\nid = "rails.R1"\nreading = "46"\n', 4, "expected a resistance", '"46 ohm"'),
    ('format = 1\n[[steps]]\nid = "rails.R1"\nreading = 46\n', 4, "expected a resistance", '"46 ohm"'),
    ('format = 1\n[[steps]]\nid = "rails.R1"\nreading = "3 V"\n', 4, "expected a resistance", '"open"'),
    ('format = 1\n[[steps]]\nid = "volts.R1.far"\nreading = "open"\n', 4, "expected a voltage", '"ok"'),
    ('format = 1\n[[steps]]\nid = "axle.R1.far"\nreading = "D1.11"\n', 4, 'no channel "D1.11"', "D1.1"),
    ('format = 1\n[[steps]]\nid = "axle.R1.far"\nreading = true\n', 4, "expected channels", '"none"'),
    ('format = 1\n[[steps]]\nid = "axle.R1.far"\nreading = 3\n', 4, "no channel 3", "D1.3"),
    ('format = 1\n[[steps]]\nid = "short.R1"\nreading = "B2"\n', 4, 'no breaker "B2"', "B1"),
    ('format = 1\n[[steps]]\nid = "rails.R11"\nreading = "open"\n', 3, "no test", "rails.R1"),
    ('format = 1\n[[steps]]\nid = "rails.R1"\nreding = "open"\n', 4, 'no key "reding"', "reading"),
    ('format = 1\n[[steps]]\nreading = "open"\n', 2, "needs the id", "id ="),
    ('format = 1\n[[steps]]\nid = "rails.R1"\n[[steps]]\nid = "rails.R1"\n', 5, "read twice", "keep one"),
    ('format = 1\nlayout = "Other"\n[[steps]]\nid = "rails.R1"\n', 2, "readings of", "belong"),
    ('format = 1\nlayout = { name = "Mine" }\nblocks = {}\n', 2, "this is a layout", "blockcheck bench LAYOUT"),
    ('[[steps]]\nid = "rails.R1"\n', 1, "format = 1", "write it"),
    ("format = true\n[[steps]]\nid = 'rails.R1'\n", 1, "format = 1", "write it"),
    ("format = 1\nsteps = 3\n", 2, "steps are tables", "[[steps]]"),
    ("format = 1\n", 1, "no readings", "[[steps]]"),
    ("format = 1\n[[steps]\n", 2, "", ""),
]


@pytest.mark.parametrize(("text", "line", "message", "help_"), BAD, ids=[one[2] + one[3] for one in BAD])
def test_readings_that_cannot_be_understood(
    text: str, line: int, message: str, help_: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "readings.toml"
    path.write_text(text, "utf-8")
    status, out, error = run(capsys, "trace", str(SMALL), str(path))
    assert (status, out) == (2, "")
    assert f"readings.toml:{line}:" in error
    assert message in error.replace("\n  ", " ")
    assert help_ in error


def test_readings_that_are_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, _, error = run(capsys, "trace", str(SMALL), str(tmp_path / "readings.toml"))
    assert status == 2
    assert "readings.toml cannot be read: no such file or directory" in error
    assert "blockcheck bench FILE --format toml" in error


def test_the_same_sheet_whatever_the_hash_seed(tmp_path: Path) -> None:
    import os
    import subprocess
    import sys

    found = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-m", "blockcheck", "bench", str(SMALL), "-f", "json"],
            cwd=tmp_path,
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        found.add(done.stdout)
    assert len(found) == 1


def test_a_bar_is_shown_on_a_terminal_after_a_second_and_nowhere_else(monkeypatch: pytest.MonkeyPatch) -> None:
    import io
    import sys

    from blockcheck.cli import progress

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    clock = iter([0.0, 0.5, 1.5])
    monkeypatch.setattr("time.monotonic", lambda: next(clock, 2.0))
    for stream, shown in ((io.StringIO(), False), (Terminal(), True)):
        monkeypatch.setattr(sys, "stderr", stream)
        with progress.shown_progress() as report:
            assert (report is not None) == shown
            if report is not None:
                report("reading", 1, 4)
                assert not stream.getvalue()
                report("reading", 2, 4)
        assert bool(stream.getvalue()) == shown


def test_a_sheet_ends_when_time_runs_out_and_says_what_it_leaves_out(capsys: pytest.CaptureFixture[str]) -> None:
    study, with_ = api.loads(layout(34)), ("axle", "supply")

    def progress(what: str, at: int, of: int) -> None:
        if what == "units" and at == 1:
            raise OutOfTimeError

    whole, part = api.bench(study, at_hand=with_), api.bench(study, at_hand=with_, progress=progress)
    assert not whole.left
    assert part.steps
    assert {one.id for one in part.steps} < {one.id for one in whole.steps}
    assert {*study.layout.blocks} - {*part.left} == {"T1", *(f"S{number}" for number in range(1, 17))}
    assert not [one.id for one in part.steps for name in part.left if f".{name}." in one.id]
    assert "Out of time: no step is about " in "\n".join(part.sentences())
    status, text, _ = run(capsys, "bench", str(SMALL), "--seconds", "0")
    assert status == 0
    assert "out of time: no step is about R1-R6" in text
    assert run(capsys, "bench", str(SMALL), "--seconds", "nan")[0] == 2


def test_readings_are_explained_as_far_as_time_allows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = tmp_path / "readings.toml"
    sheet.write_text('format = 1\n[[steps]]\nid = "axle.R1.near"\nreading = "D1.2"\n', "utf-8")
    status, text, _ = run(capsys, "trace", str(SMALL), str(sheet), "--seconds", "0")
    assert status == 1  # a reading is off, whatever explains it
    assert "ut of time: no fault was looked for at " in text
    answer = valid("trace", run(capsys, "trace", str(SMALL), str(sheet), "--seconds", "0", "-f", "json")[1])
    assert "R1" in answer["left"]  # type: ignore[operator]
    assert not valid("trace", run(capsys, "trace", str(SMALL), str(sheet), "-f", "json")[1])["left"]


def test_a_sheet_holds_no_digits_that_differ_with_the_machine(capsys: pytest.CaptureFixture[str]) -> None:
    """How sums are rounded hangs on the number of threads, from about the twelfth digit on."""
    _, text, _ = run(capsys, "bench", str(SMALL), *FULL, "-f", "json")
    steps: list[dict[str, object]] = valid("bench", text)["steps"]  # type: ignore[assignment]
    numbers = [
        one[key] for one in steps for key in ("value", "low", "high", "amperes") if isinstance(one.get(key), float)
    ]
    assert len(numbers) > 50
    assert numbers == [float(f"{one:.9g}") for one in numbers]


def test_equal_shorts_are_chosen_between_by_their_place_not_by_rounding() -> None:
    from types import SimpleNamespace

    from blockcheck.analysis.bench.measure import Bench
    from blockcheck.analysis.bench.names import Names
    from blockcheck.analysis.bench.sheet import safety

    own = Bench.of(api.load(SMALL))
    (breaker,) = (name for name, *_ in own.breakers)
    steps = [one for one in own.tests if one.id in ("short.R1", "short.R2")]
    for amperes in ((50.0, 50.0 + 1e-12), (50.0 + 1e-12, 50.0)):
        predicted = SimpleNamespace(
            tests=steps, amperes={0: [amperes[0]], 1: [amperes[1]]}, names={0: [0], 1: [0]}, known=[Names([breaker])]
        )
        assert safety(own, predicted) == [0]  # type: ignore[arg-type]


def test_any_channel_that_a_board_has_may_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bus on the spare channel is a slip like any other: channel 8 of the small yard's board has no block."""
    sheet = tmp_path / "readings.toml"
    sheet.write_text('format = 1\n[[steps]]\nid = "axle.R1.near"\nreading = "D1.8"\n', "utf-8")
    status, text, _ = run(capsys, "trace", str(SMALL), str(sheet), "--format", "json")
    assert status in (0, 1)
    off = valid("trace", text)["off"]
    assert isinstance(off, list)
    assert [(one["id"], one["read"]) for one in off] == [("axle.R1.near", "D1.8")]
    sheet.write_text('format = 1\n[[steps]]\nid = "axle.R1.near"\nreading = "D1.9"\n', "utf-8")
    status, _, error = run(capsys, "trace", str(SMALL), str(sheet))
    assert status == 2
    assert 'there is no channel "D1.9"' in error
    assert "D1 has the channels 1 to 8" in error
    assert "did you mean" not in error  # a neighbour would be another reading


def test_gaps_to_track_without_power_are_named_since_no_step_tries_them() -> None:
    text = SMALL.read_text("utf-8")
    text += """
[blocks.shed]
unpowered = "models on show"
length = "1 m"
[[joints]]
blocks = ["R6", "shed"]
gap = "both"
"""
    sheet = api.bench(api.loads(text, "shed.toml"))
    assert sheet.bare == ("R6 and shed",)
    assert any("R6 and shed" in one for one in sheet.besides_words())
    assert not any("shed" in step.id for step in sheet.steps)
    assert api.bench(api.load(SMALL)).bare == ()
