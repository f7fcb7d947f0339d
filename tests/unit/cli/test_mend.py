"""``check --mend``: mends that are sure as a difference, written whole or not at all, and what they mend is gone."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from tests.edited import edited

import blockcheck
from blockcheck.__main__ import main
from blockcheck.cli.mends import mended
from blockcheck.core.findings import Edit
from blockcheck.rules import RULES, example_of
from blockcheck.text.applied import applied

EXAMPLES = Path(__file__).parents[3] / "examples"
SLIPS = """\
format = 1
layout = { name = "Sorrel Yard", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.yard = { booster = "B1" }
board_types.eight = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "eigth", spare = [7] }
isolators.I1-I6 = { rating = "5 A", sied = "after-detector" }
[blocks]
R1-R6 = { channel = "D1.1-6", isolator = "I1-I6", kind = "storge" }
neck = { channel = "D1.8", kind = "throat" }
[turnuots.W1]
block = "neck"
diverging = "R1"
through = "R2"
"""


@pytest.fixture
def slips(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "yard.toml").write_text(SLIPS, "utf-8")
    return tmp_path / "yard.toml"


def test_it_is_shown_first_and_written_when_asked(slips: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "yard.toml", "--mend"]) == 2  # as it lies there, it cannot be understood
    shown = capsys.readouterr().out
    assert slips.read_text("utf-8") == SLIPS
    for line in ('-boards.D1 = { type = "eigth"', '+boards.D1 = { type = "eight"', "+[turnouts.W1]", "-[turnuots.W1]"):
        assert f"\n{line}" in shown
    assert "--- yard.toml\n+++ yard.toml (mended)\n@@" in shown
    assert "Nothing is written yet; write it with: blockcheck check yard.toml --mend --yes\n" in shown
    assert main(["check", "yard.toml", "--mend", "--yes"]) == 0
    assert "findings mended:" in capsys.readouterr().out
    assert slips.read_text("utf-8") == mended("yard.toml").files["yard.toml"][1]
    answer = blockcheck.check(blockcheck.load(slips))
    assert not answer.count(blockcheck.types.Severity.ERROR)
    assert not [one for one in answer.findings if one.edits]
    assert main(["check", "yard.toml", "--mend"]) == 0
    assert capsys.readouterr().out.startswith("0 findings would be mended, since no mend is sure.\n")


@pytest.mark.parametrize("rule", [rule.name for rule in RULES])
def test_the_example_of_every_rule_is_mended_or_left(rule: str, tmp_path: Path) -> None:
    text = example_of(rule).failing
    (tmp_path / "yard.toml").write_text(text, "utf-8")
    (finding,) = blockcheck.check(blockcheck.loads(text)).findings
    answer = mended(str(tmp_path / "yard.toml"))
    assert [one.rule for one in answer.done] == ([rule] if finding.edits else [])
    ((_, before, after),) = answer.files.values()
    assert (before != after) == bool(finding.edits)
    assert rule not in {one.rule for one in blockcheck.check(blockcheck.loads(after)).findings} or not finding.edits
    edits = [one for one in finding.edits if isinstance(one, Edit)]
    texts = {"layout.toml": text}
    assert applied(texts, edits) == edited(texts, edits)  # two ways of making them


@pytest.mark.parametrize(("mark", "newline"), [("", "\n"), ("\ufeff", "\n"), ("", "\r\n"), ("\ufeff", "\r\n")])
def test_all_else_stays_as_it_was(slips: Path, mark: str, newline: str) -> None:
    slips.write_bytes((mark + SLIPS.replace("\n", newline)).encode())
    assert main(["check", "yard.toml", "--mend", "--yes"]) == 0
    there = slips.read_bytes().decode()
    assert there.startswith(mark + "format")
    assert there.count("\n") == there.count(newline)
    assert there.count("\ufeff") == len(mark)


def test_included_files_are_mended_too_and_what_ships_with_it_is_not(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLES / "club-yard", tmp_path / "club")
    upper = tmp_path / "club" / "upper.toml"
    upper.write_text(upper.read_text("utf-8").replace('block = "quay-throat"', 'block = "quay-throt"'), "utf-8")
    first = tmp_path / "club" / "club.toml"
    assert main(["check", str(first), "--mend", "--yes"]) == 0
    assert upper.read_text("utf-8") == (EXAMPLES / "club-yard" / "upper.toml").read_text("utf-8")
    text = 'format = 1\ninclude = ["stock:boards"]\nlayout = { name = "Sorrel", control = "dcc" }\n'
    (tmp_path / "stock.toml").write_text(text, "utf-8")
    assert set(mended(str(tmp_path / "stock.toml")).files) == {"stock.toml"}


def test_what_has_changed_meanwhile_is_kept(
    slips: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import blockcheck.cli.mends as room

    def meanwhile(*call: object, **more: object) -> object:
        answer = mended(*call, **more)  # type: ignore[arg-type]
        slips.write_text("# another hand\n" + SLIPS, "utf-8")
        return answer

    monkeypatch.setattr(room, "mended", meanwhile)
    assert main(["check", "yard.toml", "--mend", "--yes"]) == 2
    assert "has changed since it was read" in capsys.readouterr().err
    assert slips.read_text("utf-8") == "# another hand\n" + SLIPS


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["yard.toml", "--yes"], "--yes goes with --mend"),
        (["yard.toml", "yard.toml", "--mend"], "one layout is mended at a time"),
        (["-", "--mend", "--yes"], "standard input cannot be mended"),
        (["no.toml", "--mend"], "cannot be read"),
    ],
)
def test_a_call_that_cannot_be_is_told(
    words: list[str], message: str, slips: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", *words]) == 2
    assert message in capsys.readouterr().err
    assert slips.read_text("utf-8") == SLIPS


def test_what_is_no_toml_is_told_as_ever(slips: Path, capsys: pytest.CaptureFixture[str]) -> None:
    slips.write_text(SLIPS.replace('"eigth"', "eight"), "utf-8")
    assert main(["check", "yard.toml", "--mend"]) == 2
    assert "yard.toml:6" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        ('[ "turnuots" . W1 ]\nblock = "R1"\n', '[ turnouts . W1 ]\nblock = "R1"\n'),
        ('[turnuots]\nW1 = { block = "R1" }\n', '[turnouts]\nW1 = { block = "R1" }\n'),
        ("[turnuots.W1]\n[turnuots.turnuots]\n", "[turnouts.W1]\n[turnouts.turnuots]\n"),
        ("[[jonts]]\n[[jonts]]\n", "[[joints]]\n[[joints]]\n"),
    ],
)
def test_a_table_is_called_otherwise_wherever_it_is_named(written: str, instead: str) -> None:
    text = 'format = 1\n[layout]\nname = "Sorrel"\ncontrol = "dcc"\n'
    with pytest.raises(blockcheck.InputError) as caught:
        blockcheck.loads(text + written)
    found = next(one for one in caught.value.findings if "there is no table" in one.message)
    edits = [one for one in found.edits if isinstance(one, Edit)]
    assert applied({"layout.toml": text + written}, edits)["layout.toml"] == text + instead


def test_a_table_in_dotted_keys_is_left_to_a_person() -> None:
    text = 'format = 1\nlayout = { name = "Sorrel", control = "dcc" }\nturnuots.W1 = {}\nturnuots.W2 = {}\n'
    with pytest.raises(blockcheck.InputError) as caught:
        blockcheck.loads(text)
    assert [one.edits for one in caught.value.findings] == [()]


def test_a_block_on_the_channel_of_another_takes_the_only_one_that_is_free(tmp_path: Path) -> None:
    text = (EXAMPLES / "small-yard" / "yard.toml").read_text("utf-8").replace('channel = "D1.7"', 'channel = "D1.6"')
    (tmp_path / "yard.toml").write_text(text, "utf-8")
    answer = mended(str(tmp_path / "yard.toml"))
    assert [one.rule for one in answer.done][:1] == ["channel-shared"]
    ((_, _, after),) = answer.files.values()
    assert after == text.replace('channel = "D1.6"', 'channel = "D1.7"')
