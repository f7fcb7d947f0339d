"""The isolators as they stand on the control panel: their order, what is written below each, where to drill."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import attrs
from attrs import evolve, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Document, Says
from blockcheck.answers.tables import Table
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import plural
from blockcheck.model.keys import Count
from blockcheck.model.layout import Isolator, Panel
from blockcheck.model.quantities import DIMENSIONS, Metres, QuantityError, parse
from blockcheck.model.tables.panels import EDGE_M, LEAST_PITCH_M, MOST_PITCH_M, names_on
from blockcheck.model.tables.selectors import contact, places, selector_of, tracks_of

LOW_VOLTAGE = (
    "This panel is for track power and other extra-low voltage alone. No mains wiring, mains switch or supply belongs "
    "on it or behind it: local codes and licensed electricians decide on those."
)
BY_TRACK = "The layout does not say how they stand: they are in the order of their tracks."
LEAST_EDGE_MM = 10.0
"""From the outer holes to the edges of a panel of a size."""


@frozen
class Hole:
    """One isolator on the panel. Millimetres from the panel's lower left corner; row and place count from 1.

    ``blocks`` are those that it is meant to isolate, ``tracks`` their numbers. ``positions`` are the words for how it
    can stand. ``does`` says in words what it is meant to do, ``note`` where the layout says that it is.
    """

    isolator: str = column("Isolator.")
    x_mm: float = column("From the left edge to the middle of its hole.", title="x (mm)")
    y_mm: float = column("From the lower edge to the middle of its hole.", title="y (mm)")
    x_in: float | None = column("As x_mm, in inches where the layout speaks imperial.", title="x (in)", only="people")
    y_in: float | None = column("As y_mm, in inches where the layout speaks imperial.", title="y (in)", only="people")
    row: Count = column("Its row, from the top.", only="programs")
    place: Count = column("Its place in the row, from the left.", key="column", only="programs")
    group: str | None = column("Group of its tracks.")
    tracks: tuple[int, ...] = column("Numbers of the tracks that it is meant to isolate.")
    blocks: tuple[str, ...] = column("Blocks that it is meant to isolate.")
    positions: tuple[str, ...] = column("The words for how it can stand, as a lever passes them.")
    does: str = column("What it is meant to do, in words.")
    note: str | None = column("Where the layout says that it is.", key="panel")


@frozen
class Plate:
    """One panel: its size and grid in millimetres, its holes row by row from the top left.

    ``at`` says in words where it is. ``ordered`` where the layout says how its controls stand; else they are in the
    order of their tracks.
    """

    name: str | None = column("Name of the panel, where the layout describes it.")
    at: str | None = column("Where it is, in words.")
    ordered: bool = column("Whether the layout says how its controls stand.")
    pitch_mm: float = column("Between two holes of a row.")
    row_pitch_mm: float = column("Between two rows.")
    width_mm: float = column("Width of the panel.")
    height_mm: float = column("Height of the panel.")
    holes: tuple[Hole, ...] = column("The controls, row by row from the top left.")

    @property
    def title(self) -> str:
        """``fascia, before the yard``; empty where nobody says which panel it is."""
        return ", ".join(one for one in (self.name, self.at) if one)


@frozen
class PanelAnswer(Answer):
    """The panels of a layout, those that it describes first."""

    command = "panel"

    layout: str = column("Name of the layout.")
    plates: tuple[Plate, ...] = column("The panels, those that the layout describes first.")
    imperial: bool = False

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes of all panels."""
        return tuple(hole for plate in self.plates for hole in plate.holes)

    def tables(self) -> tuple[Table, ...]:
        """Where to drill, what for, and what to write there, panel by panel."""
        return tuple(self.table(plate) for plate in self.plates)

    def table(self, plate: Plate) -> Table:
        """The holes of one panel."""
        unit, by = ("in", 25.4) if self.imperial else ("mm", 1.0)
        width, height, pitch, rows = (
            f"{one / by:.4g}" for one in (plate.width_mm, plate.height_mm, plate.pitch_mm, plate.row_pitch_mm)
        )
        note = (
            f"x and y are {unit} from the lower left corner of a panel of {width} x {height} {unit}; rows count from "
            f"the top, {pitch} {unit} lie between holes and {rows} {unit} between rows."
        )
        return table(
            f"Holes: {plate.title}" if plate.title else "Holes",
            Hole,
            plate.holes,
            (note, *(() if plate.ordered else (BY_TRACK,))),
            fields=self.fields,
        )

    @property
    def fields(self) -> tuple[str, ...]:
        """The columns of its tables: where to drill in the unit of the layout."""
        left_out = ("x_mm", "y_mm") if self.imperial else ("x_in", "y_in")
        return tuple(one.name for one in attrs.fields(Hole) if one.name not in left_out)

    def document(self) -> Document:
        """The holes as a table for each panel, and the cautions."""
        panels = "" if len(self.plates) == 1 else f", of which there are {len(self.plates)}"
        count = f"{plural(len(self.holes), 'control')} on the panel{'s' * bool(panels)}{panels}."
        cautions = Says((LOW_VOLTAGE, CAUTION), "caution")
        whole = table("Holes", Hole, self.holes, fields=self.fields)
        shown = [evolve(one, only="") if one.only == "people" else one for one in whole.headers]
        return Document(
            "Control panel", self.layout, (*self.tables(), cautions), (evolve(whole, headers=shown),), verdict=(count,)
        )


def millimetres(text: str, what: str) -> float:
    """A length such as ``25 mm`` or ``1 in``, in millimetres. Raises CallError that names ``what``."""
    if str(text).strip().replace(".", "", 1).isdecimal():
        raise CallError(f"{what} cannot be {shown(str(text))}", f'write it with its unit: "{str(text).strip()} mm"')
    try:
        return round(parse(text, DIMENSIONS[Metres]) * 1000, 6)
    except QuantityError as error:
        raise CallError(f"{what} cannot be {shown(str(text))}: {error.message}", error.help) from None


def panel(study: Study, pitch: str = "25 mm", columns: int = 10, group: str | None = None) -> PanelAnswer:
    """The panels of a study. One that the layout describes has its rows, pitch and size, as far as it says them. All
    other controls stand on one for each text that says where they are, a row for each group, in the order of tracks.

    Longer rows are broken after ``columns`` holes; ``pitch`` lies between two holes of a row, twice as much between two
    rows. ``group`` leaves only the isolators of one group. Raises CallError for a pitch or a count that is none, an
    unknown group, a panel that is too small, and no isolators.
    """
    pitch_mm = millimetres(pitch, "pitch")
    least_mm, most_mm = LEAST_PITCH_M * 1000, MOST_PITCH_M * 1000
    if not least_mm <= pitch_mm <= most_mm:
        raise CallError(f"pitch cannot be {pitch_mm:g} mm", f"write one from {least_mm:g} mm to {most_mm:g} mm")
    if not 1 <= columns <= 100:
        raise CallError(f"columns cannot be {columns}", "write a number from 1 to 100")
    groups = _groups(study, group)
    described = study.layout.panels
    plates = [_described(study, one, groups, pitch_mm, columns) for one in described.values()]
    texts = dict.fromkeys(one.panel for members in groups.values() for one in members if one.panel not in described)
    for text in sorted(texts, key=lambda one: (one is None, natural_key(one or ""))):
        rows = _rows({name: [one for one in members if one.panel == text] for name, members in groups.items()}, columns)
        plates.append(_plate(study, None, text, rows, pitch_mm, 2 * pitch_mm, None, ordered=False))
    about = study.layout.about
    return PanelAnswer(about.name, tuple(one for one in plates if one.holes), about.units == "imperial")


_Row = tuple[str | None, list[Isolator]]
"""The group of a row, and its controls from the left; of a selector the first of its contacts stands for it."""


def _rows(groups: Mapping[str | None, list[Isolator]], columns: int) -> list[_Row]:
    return [
        (name, members[start : start + columns])
        for name, members in groups.items()
        for start in range(0, len(members), columns)
    ]


def _described(
    study: Study, own: Panel, groups: Mapping[str | None, list[Isolator]], pitch_mm: float, columns: int
) -> Plate:
    """A panel that the layout describes."""
    here = [one for members in groups.values() for one in members if one.panel == own.name]
    rows: list[_Row] = [(None, part) for _, part in _rows({None: here}, columns)]
    if own.rows:
        by_name = {_name(study, one): one for one in here}
        named = [[name for text in row for name in names_on(study.layout, text)] for row in own.rows]
        rows = [(None, [by_name[name] for name in row if name in by_name]) for row in named]
    pitch = pitch_mm if own.pitch_m is None else round(own.pitch_m * 1000, 6)
    row_pitch = 2 * pitch if own.row_pitch_m is None else round(own.row_pitch_m * 1000, 6)
    size = Size(*(round(one * 1000, 6) for one in own.size_m)) if own.size_m else None
    return _plate(study, own.name, own.at, rows, pitch, row_pitch, size, ordered=bool(own.rows))


class Size(NamedTuple):
    """Width and height, in millimetres."""

    width: float
    height: float


def _plate(
    study: Study,
    name: str | None,
    at: str | None,
    rows: list[_Row],
    pitch_mm: float,
    row_pitch_mm: float,
    size: Size | None,
    *,
    ordered: bool,
) -> Plate:
    """The holes in their places, in the middle of a panel of a size."""
    across = (max((len(chunk) for _, chunk in rows), default=1) - 1) * pitch_mm
    down, edge = (len(rows) - 1) * row_pitch_mm, max(pitch_mm, EDGE_M * 1000)
    whole = size or Size(across + 2 * edge, down + 2 * edge)
    left, top = (whole.width - across) / 2, (whole.height - down) / 2
    if min(left, top) < LEAST_EDGE_MM:
        needs = f"{across + 2 * LEAST_EDGE_MM:g} mm x {down + 2 * LEAST_EDGE_MM:g} mm"
        raise CallError(
            f"the controls of panel {name} need {needs}, and it has {whole.width:g} mm x {whole.height:g} mm",
            "write a larger size, or a smaller pitch",
        )
    holes = tuple(
        _hole(
            study,
            one,
            group,
            Count(row + 1),
            Count(place + 1),
            left + place * pitch_mm,
            whole.height - top - row * row_pitch_mm,
        )
        for row, (group, chunk) in enumerate(rows)
        for place, one in enumerate(chunk)
    )
    return Plate(name, at, ordered, pitch_mm, row_pitch_mm, whole.width, whole.height, holes)


def _name(study: Study, isolator: Isolator) -> str:
    """What a control is called: a selector's contact by its switch."""
    selector = selector_of(study.layout, isolator.name)
    return str(isolator.name if selector is None else selector.name)


def _groups(study: Study, only: str | None) -> dict[str | None, list[Isolator]]:
    """Group -> its isolators in track order; those of no group come last."""
    found: dict[str | None, list[Isolator]] = {}
    for isolator in study.layout.isolators.values():
        selector = selector_of(study.layout, isolator.name)
        if selector is not None and isolator.name != contact(selector.name, tracks_of(selector)[0]):
            continue  # one knob turns them all
        found.setdefault(_group(study, isolator), []).append(isolator)
    if only is not None and only not in found:
        known = [name for name in found if name is not None]
        near = did_you_mean(only, known) or (f"the groups are {', '.join(known)}" if known else "leave the group out")
        raise CallError(f"there is no isolator in a group {shown(only)}", near)
    if not found:
        raise CallError("the layout has no isolators", 'write [isolators.I1], and isolator = "I1" in a block')
    names = [only] if only is not None else sorted(found, key=lambda one: (one is None, natural_key(one or "")))
    return {name: sorted(found[name], key=lambda one: _order(study, one)) for name in names}


def _group(study: Study, isolator: Isolator) -> str | None:
    """The group of the first of its blocks that has one."""
    blocks = study.wiring.meant[isolator.name] or study.wiring.switched[isolator.name]
    return next((group for name in blocks if (group := study.layout.blocks[name].group) is not None), None)


def _order(study: Study, isolator: Isolator) -> tuple[object, ...]:
    tracks = _tracks(study, isolator)
    return (not tracks, tracks[0] if tracks else 0, natural_key(isolator.name))


def _tracks(study: Study, isolator: Isolator) -> tuple[int, ...]:
    found = {study.wiring.tracks[name] for name in study.wiring.meant[isolator.name] if name in study.wiring.tracks}
    return tuple(sorted(found))


def _hole(
    study: Study, isolator: Isolator, group: str | None, row: Count, place: Count, x_mm: float, y_mm: float
) -> Hole:
    x_mm, y_mm = round(x_mm, 3), round(y_mm, 3)
    selector = selector_of(study.layout, isolator.name)
    imperial = study.layout.about.units == "imperial"  # what is drilled is measured in mm all the same
    return Hole(
        _name(study, isolator),
        x_mm,
        y_mm,
        round(x_mm / 25.4, 3) if imperial else None,
        round(y_mm / 25.4, 3) if imperial else None,
        row,
        place,
        group,
        _tracks(study, isolator) if selector is None else (),
        study.wiring.meant[isolator.name] if selector is None else tracks_of(selector),
        _stands(isolator) if selector is None else places(selector),
        _does(study, isolator) if selector is None else "feeds one of its tracks" + "; off: none" * selector.off,
        isolator.panel,
    )


def _stands(isolator: Isolator) -> tuple[str, ...]:
    """The words for how it can stand, in the order in which a lever passes them."""
    if isolator.contact == "on-off":
        return ("on", "off")
    first, *rest = map(str, isolator.between or ())
    return (first, "off", *rest) if isolator.centre_off else (first, *rest)


def _does(study: Study, isolator: Isolator) -> str:
    """What it is meant to do, in words."""
    blocks = study.wiring.meant[isolator.name]
    if not blocks:
        return "isolates nothing"
    if isolator.contact == "changeover":
        feeds = " or ".join(map(str, isolator.between or ()))
        return f"fed from {feeds}" + ("; off: dead" if isolator.centre_off else "")
    if all(study.layout.blocks[name].channel is None for name in blocks):
        return "off: dead"
    verb = "reads" if len(blocks) == 1 else "read"
    return f"off: dead, still {verb}" if isolator.detection == "held" else f"off: dead, {verb} clear"
