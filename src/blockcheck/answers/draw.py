"""The layout as a drawing: track, joints and feeds, from the description alone; findings where they are."""

from __future__ import annotations

from datetime import date
from typing import Literal

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.core.columns import column
from blockcheck.drawing.drawer import Drawer
from blockcheck.drawing.layers import asked
from blockcheck.drawing.shapes import Box, Line, Text
from blockcheck.drawing.standing import Standing


@frozen
class Drawing(Answer):
    """A layout drawn, in millimetres from the upper left corner; text is set on its baseline."""

    command = "draw"

    layout: str = column("Name of the layout.")
    title: str = column("What the drawing is, in a line.")
    description: str = column("How everything stands, and what was found, in a sentence or two.")
    scenario: str | None = column("The scenario that it shows; null as usual.")
    opened: tuple[str, ...] = column("The isolators that were opened on top of it.")
    unit: Literal["mm"] = column(
        "Unit of all lengths and places, which count from the upper left corner.", of=lambda _: "mm"
    )
    width_mm: float = column("Width of the drawing.", key="width")
    height_mm: float = column("Height of the drawing.", key="height")
    lying: bool = column("Whether the paper lies, longer across than up.")
    page_mm: float = column("Height of a sheet inside its margins.", key="page")
    sheets: int = column(
        "How many sheets of A4 it takes.", of=lambda drawing: int(-(-drawing.height_mm // drawing.page_mm))
    )
    boxes: tuple[Box, ...] = column("Rectangles.")
    lines: tuple[Line, ...] = column("Lines and filled signs.")
    labels: tuple[Text, ...] = column("Texts, each on one line.")


def drawing(
    study: Study,
    scenario: str | None = None,
    opened: str | None = None,
    today: date | None = None,
    show: str | None = None,
    *,
    alone: bool = False,
) -> Drawing:
    """Draw a layout as it usually stands or in a scenario, with the isolators of a selection open; or the track
    ``alone``, without the feeds and what explains the drawing. ``show`` names what is shown on the track, with commas
    between; nothing moves with it.

    ``today`` (default: the day it is) is what the dates of exceptions are held against. Raises CallError for a
    scenario or a selection that the layout does not have, and for a layer that is none.
    """
    made = Drawer(Standing(study, scenario, opened, today or date.today()), asked(show)).picture(alone)
    return Drawing(
        study.layout.about.name,
        made.title,
        made.description,
        scenario,
        made.opened,
        width_mm=made.width_mm,
        height_mm=made.height_mm,
        lying=made.sheet.lying,
        page_mm=made.sheet.page_mm,
        boxes=made.boxes,
        lines=made.lines,
        labels=made.labels,
    )
