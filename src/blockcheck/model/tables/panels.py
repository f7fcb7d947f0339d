"""Control panels: what stands on which, in which rows, and how long the wires are to there and back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.core.findings import Label
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path
from blockcheck.core.words import listed
from blockcheck.model.layout import Isolator, Layout, Panel
from blockcheck.model.quantities import DIMENSIONS, Metres, show
from blockcheck.model.tables.selectors import selector_of
from blockcheck.text.ranges import names_of

if TYPE_CHECKING:
    from blockcheck.model.tables.naming import Naming

LEAST_PITCH_M, MOST_PITCH_M = 0.01, 0.2
"""Between two holes of a row."""
MOST_SIZE_M = 5.0
"""Width or height of one panel."""
EDGE_M = 0.02
"""From the outer holes to the edges, at least: the legend of the lowest row must have its room."""


def panel_of(layout: Layout, isolator: Isolator) -> Panel | None:
    """The panel that a control is on, where it names one; words about where it is are none."""
    return layout.panels.get(isolator.panel) if isolator.panel is not None else None


def controls_on(layout: Layout, panel: str) -> tuple[str, ...]:
    """The isolators and selectors on a panel, in natural order."""
    named = [name for name, one in layout.selectors.items() if one.panel == panel]
    named += [
        name for name, one in layout.isolators.items() if one.panel == panel and selector_of(layout, name) is None
    ]
    return tuple(sorted(named, key=natural_key))


def names_on(layout: Layout, text: str) -> tuple[str, ...]:
    """The controls that one text of a row stands for."""
    known = text in layout.isolators or text in layout.selectors
    return (text,) if known else names_of(text) or (text,)


def check_panels(names: Naming) -> None:
    """What is wrong with the panels: lengths without a wire, rows that do not fit, what no panel can be."""
    for panel in names.layout.panels.values():
        path: Path = ("panels", panel.name)
        for key, length in (("from_board", panel.from_board_m), ("to_bus", panel.to_bus_m)):
            if length is not None and panel.wire is None:
                help_ = 'write wire = "0.75 mm2", or the wire\'s name'
                names.fault((*path, key), f"{panel.name} has wires of a length and not of what", help_)
        _sizes(names, panel, path)
        _rows(names, panel, path)


def _sizes(names: Naming, panel: Panel, path: Path) -> None:
    imperial = names.layout.about.units == "imperial"

    def told(metres: float) -> str:
        return show(metres, DIMENSIONS[Metres], imperial)

    for key, pitch in (("pitch", panel.pitch_m), ("row_pitch", panel.row_pitch_m)):
        if pitch is not None and not LEAST_PITCH_M <= pitch <= MOST_PITCH_M:
            least, most = map(told, (LEAST_PITCH_M, MOST_PITCH_M))
            message = f"{key} of {panel.name} cannot be {told(pitch)}"
            names.fault((*path, key), message, f"write one from {least} to {most}")
    if panel.size_m and len(panel.size_m) != 2:
        names.fault((*path, "size"), f"{panel.name} has a width and a height", 'write size = ["300 mm", "120 mm"]')
    elif any(not 2 * EDGE_M <= one <= MOST_SIZE_M for one in panel.size_m):
        least, most = map(told, (2 * EDGE_M, MOST_SIZE_M))
        names.fault((*path, "size"), f"{panel.name} is too small or too large", f"write from {least} to {most}")


def _rows(names: Naming, panel: Panel, path: Path) -> None:
    """Each control of a panel stands in one row, once, and nothing else does."""
    layout, first = names.layout, dict[str, Path]()
    known = {*layout.isolators, *layout.selectors}
    for at, text in _texts(panel, path):
        for name in (text,) if text in known else names.names(at, text):
            control = layout.isolators.get(name) or layout.selectors.get(name)
            if name in first:
                related = (Label(names.document.place(first[name]), "here it stands already"),)
                message = f"{name} stands twice on {panel.name}"
                names.fault(at, message, "name it in one place: it has one hole", related=related)
            elif control is None:
                names.known(at, name, "isolator or selector", layout.isolators, layout.selectors)
            elif control.panel != panel.name:
                is_on = f": it is on {control.panel}" if control.panel in layout.panels else ""
                help_ = f"write panel = {shown(panel.name)} in {name}, or take it out of the rows"
                names.fault(at, f"{name} is not on {panel.name}{is_on}", help_)
            first.setdefault(name, at)
    left = [name for name in controls_on(layout, panel.name) if name not in first] if panel.rows else []
    if left:
        names.fault((*path, "rows"), f"no row of {panel.name} has {listed(left)}", "name each in the row that it is in")


def _texts(panel: Panel, path: Path) -> Iterator[tuple[Path, str]]:
    for number, row in enumerate(panel.rows):
        for index, text in enumerate(row):
            yield (*path, "rows", number, index), text
