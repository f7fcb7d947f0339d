"""``new --from``: a layout from a spreadsheet of blocks, its own channel map among them; and what it says to a slip."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

import blockcheck
from blockcheck.__main__ import main

EXAMPLES = Path(__file__).parents[3] / "examples"
WITH_DETECTORS = [
    EXAMPLES / name
    for name in (
        "small-yard/yard.toml",
        "club-yard/club.toml",
        "faulty-yard/yard.toml",
        "growing-yard/after.toml",
        "turning-line/line.toml",
    )
]


def from_text(text: str, name: str = "blocks.csv") -> str:
    return blockcheck.new(table=name, data=text).text


def channels(text: str) -> str:
    return str(blockcheck.render(blockcheck.channels(blockcheck.loads(text, "yard.toml")), "csv"))


@pytest.mark.parametrize("path", WITH_DETECTORS, ids=lambda path: path.parent.name)
@pytest.mark.parametrize(
    ("format_", "dialect"), [("csv", "comma"), ("csv", "semicolon"), ("csv", "tab"), ("xlsx", "comma")]
)
def test_its_own_channel_map_gives_the_same_rows_back(path: Path, format_: str, dialect: str) -> None:
    answer = blockcheck.channels(blockcheck.load(path))
    table = blockcheck.render(answer, format_, csv_dialect=dialect)
    text = blockcheck.new(table=f"map.{format_}", data=table).text
    mine, theirs = channels(text).splitlines(), str(blockcheck.render(answer, "csv")).splitlines()
    # a siding that a turnout feeds is fed by the block of that turnout, by whose name the map calls it
    assert [one.replace("fed through Q", "") for one in mine] == [one.replace("fed through Q", "") for one in theirs]
    study = blockcheck.loads(text, "yard.toml")
    known = {one.rule for one in blockcheck.check(study, date(2031, 6, 1)).findings}
    assert known <= {"channel-shared", "joint-missing"}  # the first is in an example on purpose


BY_HAND = """\
Blocks of the yard\t\t\t
\t\t\t
Length (ft)\tSwitch\tColour of tape\tTrack no\tChannel
8\tyes\tred\t1\tD1.1
8.5\t-\t\t2\tD1.2
8 ft 6 in\tI3, P3\t\t3\tD2.1
"""


def test_a_table_by_hand_is_read_whatever_its_order_and_headings() -> None:
    text = from_text(BY_HAND)
    layout = blockcheck.loads(text, "yard.toml").layout
    assert {name: str(one.channel) for name, one in layout.blocks.items()} == {"T1": "D1.1", "T2": "D1.2", "T3": "D2.1"}
    feet = [(one.length_m or 0) / 0.3048 for one in layout.blocks.values()]
    assert feet == pytest.approx([8, 8.5, 8.5])
    assert [[*map(str, one.isolated_by)] for one in layout.blocks.values()] == [["I-T1"], [], ["I3", "P3"]]
    assert layout.about.units == "imperial"
    assert "# Columns that were not read: colour of tape.\n" in text


def test_a_workbook_by_hand_is_read(tmp_path: Path) -> None:
    book = Workbook()
    assert book.active is not None
    book.active.append(["notes of a meeting"])
    sheet = book.create_sheet("yard")
    for row in (["block", "channel", "length (cm)", "isolator", "track"], ["north", "D1.1", 240, None, 7.0]):
        sheet.append(row)
    book.save(tmp_path / "blocks.xlsx")
    assert main(["new", str(tmp_path / "yard.toml"), "--from", str(tmp_path / "blocks.xlsx"), "--name", "Alder"]) == 0
    study = blockcheck.load(tmp_path / "yard.toml")
    (block,) = study.layout.blocks.values()
    assert (block.name, block.length_m, block.track, study.layout.about.name) == ("north", 2.4, 7, "Alder")
    assert main(["new", str(tmp_path / "blocks.xlsx"), "--from", str(tmp_path / "blocks.xlsx")]) == 2  # it was read


HEAD = "block,channel,length,isolator,track,bank,address,note\n"


@pytest.mark.parametrize(
    ("table", "message", "help_"),
    [
        ("block,length\nT1,2 m\n", "no line names the columns channel", "keep the line of headings"),
        ("channel,length\nD1.1,2 m\n", "no column names the blocks", "headed block"),
        (HEAD, "no row stands below the line of headings", "write a row"),
        (HEAD + "T1,7,2 m,,,,,\n", 'row 2, column channel: expected a board and a channel, got "7"', "D1.3"),
        (HEAD + "T1,D1.x,2 m,,,,,\n", 'row 2, column channel: expected a board and a channel, got "D1.x"', "D1.3"),
        (HEAD + "T1,D1.1,16,,,,,\n", 'row 2, column length: expected a length such as "9.0 m", got "16"', "16 m"),
        (HEAD + "T1,D1.1,0 m,,,,,\n", "row 2, column length: ", "leave it out"),
        (
            HEAD + "T1,D1.1,,I1 I2,,,,\n",
            "row 2, column isolator: expected a name of letters, digits and dashes",
            "I1-I2",
        ),
        (HEAD + "T1,D1.1,,,one,,,\n", 'row 2, column track: expected a whole number, got "one"', "digits"),
        (HEAD + "T1-T4,D1.1,,,,,,\n", 'row 2, column block: "T1-T4" is a range', "a row for each"),
        (HEAD + "T1,D1.1,,,,,,\nT1,D1.2,,,,,,\n", "row 3, column block: block T1 has a row already", "one row"),
        (HEAD + "Track 1,D1.1,,,,,,\n", "row 2, column block: expected a name", 'write "Track-1"'),
        (HEAD + "T1,D1.1,,,,1,,\nT2,D1.2,,,,3,,\n", "column bank: no size of bank fits", "leave the column out"),
        (
            HEAD + "T1,D1.1,,,,,101,\nT2,D1.2,,,,,109,\n",
            "column address: channel 2 of D1 cannot report as 109",
            "in a row",
        ),
        (HEAD + "T1,D1.1,,,,,,fed through W1\n", "row 2, column note: nothing is on D1.1 but T1", "another note"),
    ],
)
def test_a_slip_names_row_and_column(table: str, message: str, help_: str) -> None:
    with pytest.raises(blockcheck.InputError) as caught:
        from_text(table)
    (finding,) = caught.value.findings
    assert message in finding.message
    assert finding.help is not None
    assert help_ in finding.help
    assert finding.at.file == "blocks.csv"  # type: ignore[union-attr]
    if message.startswith("row "):
        assert f"row {finding.at.line}," in finding.message  # type: ignore[union-attr]


def test_all_faults_are_told_at_once_and_in_a_workbook_too() -> None:
    book, stream = Workbook(), io.BytesIO()
    assert book.active is not None
    for row in (["channel", "block", "length"], ["D1.1", "T1", 16], ["D1", "T2", "2 m"]):
        book.active.append(row)
    book.save(stream)
    with pytest.raises(blockcheck.InputError, match="row 2, column length") as caught:
        blockcheck.new(table="blocks.xlsx", data=stream.getvalue())
    assert [one.at.line for one in caught.value.findings] == [2, 3]  # type: ignore[union-attr]


def test_what_the_spreadsheet_tells_is_not_said_beside_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "blocks.csv").write_text(BY_HAND, "utf-8")
    assert main(["new", "--from", str(tmp_path / "blocks.csv"), "--tracks", "3"]) == 2
    assert "tracks cannot be said beside a spreadsheet" in capsys.readouterr().err
    assert main(["new", "--from", str(tmp_path / "no.csv")]) == 2
    assert "blocks.csv" in capsys.readouterr().err
