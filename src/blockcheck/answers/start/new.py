"""A commented starting file: a short one, a whole yard, or the blocks of a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.start.cabs import yard_text
from blockcheck.answers.start.from_sheet import sheet_text
from blockcheck.answers.start.yard import Wish, units_named
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError

_FILE = """\
# A layout for blockcheck. Change it to yours, then run: blockcheck check {file}
# "blockcheck explain blocks.channel" tells what a key means; "blockcheck explain" lists the rules.
format = 1

[layout]
name = "My sidings"
control = "dcc"            # or "dc"
units = "metric"           # or "imperial"; how answers are printed

# --- power -----------------------------------------------------------------------------------------------------
[boosters.B1]
voltage = "14 V"           # track voltage without load
current = "3 A"            # what it delivers continuously

[districts.sidings]
booster = "B1"
# What is powered at once, as long as no [trains] stand there. The current of each kind stands under [loads].
expects = [{{ load = "shunter", count = 3 }}]

# --- detection -------------------------------------------------------------------------------------------------
[board_types.eight]        # from the data sheet of your board
channels = 8
threshold = "1.5 mA"       # least current that reads occupied

[boards.D1]
type = "eight"
at = "under the sidings, east end"
spare = [5, 6, 7]          # channels kept free on purpose

# --- track -----------------------------------------------------------------------------------------------------
# A name like S1-S4 is a range: four blocks on four channels behind four isolators.
[blocks.S1-S4]
channel = "D1.1-4"
isolator = "I1-I4"
kind = "storage"
length = "1.8 m"

[blocks.S2]                # a plain table refines its range
length = "2.1 m"

[blocks.neck]              # the ladder of turnouts
channel = "D1.8"
kind = "throat"

[isolators.I1-I4]          # on-off switches behind the detector

[[joints]]                 # where rails of two blocks meet, and which of them are cut
blocks = ["neck", "S1-S4"]
gap = "detected"

# --- vehicles --------------------------------------------------------------------------------------------------
[loads.shunter]
locomotive = true
sound = true
idle = "90 mA"
running = "0.3 A"
length = "0.15 m"
"""


@frozen
class NewLayout(Answer):
    """A layout to start from. ``text`` is what its file holds, and what it prints as."""

    command = "new"

    text: str = column("The text of the starting file.")


def new(
    file: str = "layout.toml",
    tracks: int | None = None,
    table: tuple[bytes, str] | None = None,
    said: Mapping[str, Any] | None = None,
) -> NewLayout:
    """A small layout with a comment on everything, or a yard of some tracks, or the layout of a spreadsheet.

    ``file`` is its name in the comments; ``table`` is the content of the spreadsheet and its name; ``said`` holds what
    else is wished for, by the names of ``Wish``. Raises CallError for what cannot be, InputError for the spreadsheet.
    """
    given = {key: value for key, value in (said or {}).items() if value is not None}
    if table is not None:
        beside = [*(["tracks"] if tracks is not None else []), *(key for key in given if key not in ("name", "units"))]
        if beside:
            told = f"{beside[0]} cannot be said beside a spreadsheet of blocks"
            raise CallError(told, "leave it out: the spreadsheet tells what blocks there are")
        return NewLayout(sheet_text(*table, file, given.get("name"), units_named(given.get("units"))))
    if tracks is not None:
        return NewLayout(yard_text(Wish(tracks=tracks, **given), file))
    if given:
        told = f"{next(iter(given))} is of a yard, and how many tracks it has is not said"
        raise CallError(told, "say how many, such as --tracks 14")
    return NewLayout(_FILE.format(file=file))
