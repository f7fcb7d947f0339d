"""The isolators as they stand on the control panel: their order, what is written below each, where to drill."""

from __future__ import annotations

from attrs import frozen

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
from blockcheck.model.layout import Isolator
from blockcheck.model.quantities import DIMENSIONS, Metres, QuantityError, parse
from blockcheck.model.selectors import contact, places, selector_of, tracks_of

LOW_VOLTAGE = (
    "This panel is for track power and other extra-low voltage alone. No mains wiring, mains switch or supply belongs "
    "on it or behind it: local codes and licensed electricians decide on those."
)
LEAST_MM, MOST_MM = 10.0, 200.0
"""Between two holes of a row."""
_EDGE_MM = 20.0  # from the outer holes to the edges, at least: the legend of the lowest row must have its room


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
class PanelAnswer(Answer):
    """The panel: its size and grid in millimetres, its holes row by row from the top left."""

    command = "panel"

    layout: str = column("Name of the layout.")
    pitch_mm: float = column("Between two holes of a row.")
    row_pitch_mm: float = column("Between two rows.")
    width_mm: float = column("Width of the panel.")
    height_mm: float = column("Height of the panel.")
    holes: tuple[Hole, ...] = column("The isolators, row by row from the top left.")
    imperial: bool = False

    def table(self) -> Table:
        """Where to drill, what for, and what to write there."""
        note = (
            f"x and y are millimetres from the lower left corner of a panel of {self.width_mm:g} x {self.height_mm:g} "
            f"mm; rows count from the top, {self.pitch_mm:g} mm lie between holes and {self.row_pitch_mm:g} mm between "
            "rows."
        )
        return table("Holes", Hole, self.holes, (note,))

    def document(self) -> Document:
        """The holes as a table, and the cautions."""
        count = f"{plural(len(self.holes), 'isolator')} on the panel."
        return Document(
            "Control panel", self.layout, (Says((count,)), self.table(), Says((LOW_VOLTAGE, CAUTION), "caution"))
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
    """The panel of a study: a row for each group, longer ones broken after ``columns`` holes, in track order.

    ``pitch`` lies between two holes of a row, twice as much between two rows. ``group`` leaves only the isolators
    of one group. Raises CallError for a pitch or a count that is none, an unknown group, and no isolators.
    """
    pitch_mm = millimetres(pitch, "pitch")
    if not LEAST_MM <= pitch_mm <= MOST_MM:
        raise CallError(f"pitch cannot be {pitch_mm:g} mm", f"write one from {LEAST_MM:g} mm to {MOST_MM:g} mm")
    if not 1 <= columns <= 100:
        raise CallError(f"columns cannot be {columns}", "write a number from 1 to 100")
    rows = [
        (name, chunk)
        for name, members in _groups(study, group).items()
        for chunk in (members[start : start + columns] for start in range(0, len(members), columns))
    ]
    edge_mm, row_pitch_mm = max(pitch_mm, _EDGE_MM), 2 * pitch_mm
    width_mm = 2 * edge_mm + (max(len(chunk) for _, chunk in rows) - 1) * pitch_mm
    height_mm = 2 * edge_mm + (len(rows) - 1) * row_pitch_mm
    holes = [
        _hole(study, isolator, name, row, place, edge_mm, pitch_mm, height_mm)
        for row, (name, chunk) in enumerate(rows)
        for place, isolator in enumerate(chunk)
    ]
    about = study.layout.about
    return PanelAnswer(about.name, pitch_mm, row_pitch_mm, width_mm, height_mm, tuple(holes), about.units == "imperial")


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
    study: Study,
    isolator: Isolator,
    group: str | None,
    row: int,
    place: int,
    edge_mm: float,
    pitch_mm: float,
    height_mm: float,
) -> Hole:
    x_mm, y_mm = round(edge_mm + place * pitch_mm, 3), round(height_mm - edge_mm - row * 2 * pitch_mm, 3)
    selector = selector_of(study.layout, isolator.name)
    imperial = study.layout.about.units == "imperial"  # what is drilled is measured in mm all the same
    return Hole(
        isolator.name if selector is None else selector.name,
        x_mm,
        y_mm,
        round(x_mm / 25.4, 3) if imperial else None,
        round(y_mm / 25.4, 3) if imperial else None,
        Count(row + 1),
        Count(place + 1),
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
