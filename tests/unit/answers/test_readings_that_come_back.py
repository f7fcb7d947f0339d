"""A test sheet that was filled in as CSV or as a workbook, and readings against those of an earlier day."""

from __future__ import annotations

import io
import re
from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.core.errors import InputError
from blockcheck.core.spans import Place

SMALL = Path(__file__).parents[3] / "examples/small-yard/yard.toml"
BRIDGED = "gap-bridged:neck,R2.detected"
FILLED = {"joint.neck.R1.detected": "silent", "joint.neck.R2.detected": "beeps", "axle.R1.near": "D1.1"}


def sheet(tmp_path: Path, name: str, *options: str) -> Path:
    path = tmp_path / name
    assert main(["bench", str(SMALL), "-o", str(path), *options]) == 0
    return path


@pytest.mark.parametrize("dialect", ["comma", "semicolon", "tab"])
def test_a_filled_csv(dialect: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = sheet(tmp_path, "sheet.csv", "--csv-dialect", dialect)
    lines = path.read_bytes().decode("utf-8-sig").split("\r\n")
    sign = {"comma": ",", "semicolon": ";", "tab": "\t"}[dialect]
    assert any(sign + "reading" in line for line in lines[:2])
    filled = [line + next((FILLED[one] for one in FILLED if sign + one + sign in line), "") for line in lines]
    path.write_bytes("\r\n".join(filled).encode())
    assert main(["bench", str(SMALL), "-o", str(path), "--csv-dialect", dialect]) == 2  # what was read is not lost
    assert "somebody has written in it" in capsys.readouterr().err
    answer = api.trace(api.load(SMALL), path)
    assert (answer.taken, answer.candidates[0].faults) == (3, (BRIDGED,))
    assert main(["trace", str(SMALL), str(path)]) == 1
    assert "between neck and R2 is not cut, or bridged" in capsys.readouterr().out


def test_a_filled_workbook(tmp_path: Path) -> None:
    path = sheet(tmp_path, "sheet.xlsx")
    book = load_workbook(path)
    rows = book["Test sheet"]
    heads = [cell.value for cell in rows[1]]
    for number in range(2, rows.max_row + 1):
        read = FILLED.get(str(rows.cell(number, heads.index("id") + 1).value))
        if read is not None:
            rows.cell(number, heads.index("reading") + 1).value = read
    book.create_sheet("Notes", 0)["A1"] = "what was seen besides"
    book.save(path)
    answer = api.trace(api.load(SMALL), path)
    assert (answer.taken, answer.candidates[0].faults) == (3, (BRIDGED,))


def test_a_channel_is_read_by_the_number_that_it_reports_as() -> None:
    """The yard's D1.1 reports as 101: what a display shows is what is written down."""
    for read, off in (("103", 0), ("D1.3", 0), ("102", 1)):
        answer = api.trace(api.load(SMALL), "sheet.csv", data=f"id,reading\naxle.R3.near,{read}\n".encode())
        assert len(answer.off) == off, read


@pytest.mark.parametrize(("threshold", "watts"), [("0.5 mA", 0.25), ("5 mA", 2), ("20 mA", 5), ("50 mA", 25)])
def test_the_test_axle_bears_what_it_takes(threshold: str, watts: float) -> None:
    """Ohm's law: the resistor's size, in watts, is more than the square of the volts through its ohms."""
    study = api.loads(SMALL.read_text("utf-8").replace('threshold = "0.5 mA"', f'threshold = "{threshold}"'))
    told = next(one for one in api.bench(study).setup.live if "test axle is" in one)
    found = re.search(r"of ([\d.]+) (k?)ohm, ([\d/]+) W", told)
    assert found is not None
    ohms = float(found[1]) * (1000 if found[2] else 1)
    size = float(Fraction(found[3]))
    volts = max(one.voltage_v for one in study.layout.boosters.values())
    assert volts * volts / ohms < size
    assert size == watts


def test_a_breaker_that_no_short_can_be_told_of_is_named() -> None:
    """Safety is not left out in silence: a short for each breaker is on the sheet, or which one is not."""
    text = SMALL.read_text("utf-8")
    bare = re.sub(r"(?m)^(trip|delay) = .*\n", "", text)
    for source, is_there in ((text, True), (bare, False)):
        answer = api.bench(api.loads(source))
        assert any(one.id.startswith("short.") for one in answer.steps) == is_there
        assert any("No short is on this sheet for B1" in one for one in answer.setup.live) == (not is_there)


def test_a_breaker_that_no_short_trips_is_named() -> None:
    """By what the layout gives: its wires let less through than it trips at."""
    text = SMALL.read_text("utf-8")
    high = re.sub(r'(?m)^trip = "[^"]*"', 'trip = "900 A"', text)
    for source, idle in ((text, False), (high, True)):
        setup = api.bench(api.loads(source)).setup.live
        assert any("No short on this sheet trips B1" in one for one in setup) == idle


def refused(data: bytes) -> tuple[str, int, str, str]:
    with pytest.raises(InputError) as caught:
        api.trace(api.load(SMALL), "sheet.csv", data=data)
    (finding,) = caught.value.findings
    assert isinstance(finding.at, Place)
    return finding.message, finding.at.line, finding.at.file, str(finding.help)


def test_what_cannot_be_read_is_told_with_its_row() -> None:
    message, line, file, help_ = refused(b'id,reading\naxle.R1.near,D1.1\n"rails.R1",46\n')
    assert (line, file) == (3, "sheet.csv")
    assert "expected a resistance" in message
    assert "ohm" in help_
    message, line, _, _ = refused(b"made by\t2026\nid\treading\nrails.R11\topen\n")
    assert ("no test" in message, line) == (True, 3)
    message, line, _, _ = refused(b"id,reading\nrails.R1,open\n,46 mohm\n")
    assert (message, line) == ("a step needs the id that the sheet gives it", 3)
    for data in (b"", b"1,rails.R1,open\n2,rails.R2,open\n"):
        assert refused(data)[0] == "no line names the columns id and reading"
    message, line, _, help_ = refused(b"id;reading\n\nrails.R11;open\n")
    assert ("no test" in message, line) == (True, 3)
    message, _, _, help_ = refused(b"PK\x03\x04 and no workbook at all")
    assert message.startswith("the workbook cannot be read")
    assert "as CSV" in help_
    assert refused(b"id,reading\n" + b'rails.R1,"' + b"x" * 200_000 + b'"\n')[0].startswith("the file cannot be read")


def test_a_workbook_without_the_columns_is_told(tmp_path: Path) -> None:
    book = load_workbook(sheet(tmp_path, "sheet.xlsx"))
    book["Test sheet"].delete_rows(1)
    stream = io.BytesIO()
    book.save(stream)
    message, _, _, help_ = refused(stream.getvalue())
    assert message == "no line names the columns id and reading"
    assert "headings" in help_


READ = 'format = 1\ndate = "{}"\nwho = "first shift"\n' + "".join(
    f'[[steps]]\nid = "{one}"\nreading = "{{}}"\n' for one in ("wire.R1.detected.far", "axle.R1.far", "rails.R2")
)


def test_what_has_changed_since_an_earlier_day(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By more than the tolerance makes of one value: 1 % of 100 mohm is none."""
    old, new, still = (tmp_path / f"{name}.toml" for name in ("old", "new", "still"))
    old.write_text(READ.format("2026-03-01", "100 mohm", "D1.1", "open"), "utf-8")
    new.write_text(READ.format("2026-11-27", "190 mohm", "none", "open"), "utf-8")
    still.write_text(READ.format("2026-11-27", "101 mohm", "D1.1", "open"), "utf-8")
    study = api.load(SMALL)
    assert api.trace(study, new).drifted is None
    assert api.trace(study, still, since=old).drifted == ()
    drifted = api.trace(study, new, since=old).drifted
    assert drifted is not None
    assert [(one.id, one.before, one.now) for one in drifted] == [
        ("wire.R1.detected.far", "100 mohm", "190 mohm"),
        ("axle.R1.far", "D1.1", "none"),
    ]
    main(["trace", str(SMALL), str(new), "--since", str(old)])
    text = capsys.readouterr().out
    assert "2 of them read otherwise than in the readings before." in text
    assert "190 mohm, was 100 mohm (wire.R1.detected.far)" in text


def test_earlier_readings_come_from_standard_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    head = 'format = 1\n[[steps]]\nid = "rails.R1"\nreading = '
    new = tmp_path / "new.toml"
    new.write_text(f'{head}"100 ohm"\n')
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(f'{head}"open"\n'.encode())))
    assert main(["trace", str(SMALL), str(new), "--since", "-"]) == 1
    assert "100 ohm, was open (rails.R1)" in " ".join(capsys.readouterr().out.split())
    assert main(["trace", str(SMALL), "-", "--since", "-"]) == 2
    assert "cannot both be read from standard input" in capsys.readouterr().err
