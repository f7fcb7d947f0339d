"""An imperial layout is imperial all the way: a twin of the small yard, in every command and format for people."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from openpyxl import load_workbook

import blockcheck
from blockcheck.types import Answer, Study

SMALL = Path(__file__).resolve().parents[2] / "examples" / "small-yard" / "yard.toml"
SIZES = {"2.5 mm2": "14 AWG", "1.5 mm2": "16 AWG", "0.5 mm2": "20 AWG", "50 pF/m": "15 pF/ft", "5 Mohm m": "16 Mohm ft"}
METRIC = re.compile(
    r"(?:(?<![\w.])\d[\d.,]*\s?|\()(?:mm2|mm²|mm|cm|m|km|degC|°C|m?ohm/m|m?Ω/m|pF/m|M(?:ohm|Ω)\sm)(?!\w)"
    r"|millimet|\bmetres?\b|\bmeters\b|\bcm\b"
)
OTHERS = re.compile(
    r"IEC\s+60204-1\s+Table 6, method B2, 40\s(?:degC|°C), PVC(?::\s+in\s+proportion\s+to\s+its\s+0\.75\s+mm.,|"
    r":\s+its\s+[\d.]+\s+mm.)?"  # what a metric standard calls its own rows
)
COMMANDS: dict[str, Callable[[Study], Answer]] = {
    "check": lambda yard: blockcheck.check(yard, today=date(2026, 1, 1)),
    "channels": blockcheck.channels,
    "isolate": lambda yard: blockcheck.isolate(yard, "R2"),
    "power": blockcheck.power,
    "budget": blockcheck.budget,
    "wake": blockcheck.wake,
    "wires": blockcheck.wires,
    "panel": blockcheck.panel,
    "bench": blockcheck.bench,
    "where": lambda yard: blockcheck.where(yard, "R3"),
    "book": blockcheck.book,
}
FOR_PEOPLE = ("text", "csv", "markdown", "html", "xlsx", "svg", "labels-html", "labels-svg", "labels-csv")


def imperial(text: str) -> str:
    """A layout in feet, inches and gauges: as long, to a tenth of an inch, and as thick, to the next gauge."""

    def told(match: re.Match[str]) -> str:
        metres = float(match[1])
        return f'"{metres / 0.3048:.1f} ft"' if metres >= 1 else f'"{metres / 0.0254:.1f} in"'

    text = re.sub(r'"(\d+(?:\.\d+)?) m"', told, text.replace('scale = "HO"', 'scale = "HO"\nunits = "imperial"'))
    for metric, gauge in SIZES.items():
        text = text.replace(metric, gauge)
    return text


@pytest.fixture(scope="module")
def twin() -> Study:
    return blockcheck.loads(imperial(SMALL.read_text("utf-8")), "yard.toml")


def read(made: str | bytes) -> str:
    """What a person reads of a format."""
    if isinstance(made, bytes):
        sheets = load_workbook(io.BytesIO(made)).worksheets
        return "\n".join(" | ".join(map(str, row)) for sheet in sheets for row in sheet.values)
    if "<" in made:
        made = re.sub(r"<[^>]*>", " ", re.sub(r"<style>.*?</style>|<pre.*?</pre>", "", made, flags=re.DOTALL))
    return made


@pytest.mark.parametrize("command", COMMANDS)
def test_no_metric_unit_is_anywhere(twin: Study, command: str) -> None:
    answer = COMMANDS[command](twin)
    for format_ in (one for one in answer.formats if one in FOR_PEOPLE):
        told = OTHERS.sub("", read(blockcheck.render(answer, format_)))
        found = METRIC.search(told)
        assert found is None, (format_, told[max(0, found.start() - 60) : found.end() + 20])


def test_headings_of_tables_for_programs_name_the_unit_and_the_cells_are_in_it(twin: Study) -> None:
    channels = blockcheck.channels(twin)
    head, first, *_ = blockcheck.render(channels, "csv").splitlines()
    assert head.split(",")[10] == "length (ft)"
    assert float(first.split(",")[10]) == pytest.approx(7.9)
    sheet = load_workbook(io.BytesIO(blockcheck.render(channels, "xlsx"))).worksheets[-1]
    column = next(cell.column for cell in sheet[1] if cell.value == "length (ft)")
    assert sheet.cell(2, column).value == pytest.approx(7.9)
    assert blockcheck.render(blockcheck.wires(twin), "labels-csv").splitlines()[0].endswith("length (ft)")


def test_what_json_says_stays_in_si(twin: Study) -> None:
    found = blockcheck.channels(twin).to_dict()
    assert found["rows"][0]["length"] == pytest.approx(7.9 * 0.3048)


def test_a_label_may_be_sized_in_inches_on_both_sides(twin: Study) -> None:
    wires = blockcheck.wires(twin)
    assert blockcheck.render(wires, "labels-svg", label_size="1.5inx0.5in") == blockcheck.render(
        wires, "labels-svg", label_size="1.5x0.5in"
    )
