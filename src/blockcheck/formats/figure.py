"""A drawing in a page: whole on a screen, cut into sheets on paper where it is longer than one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.formats.html import Child, Html, element, raw
from blockcheck.formats.svg import drawing_svg

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing

TITLE = "Drawing"


def drawing_part(drawing: Drawing, id_: str = "drawing") -> Html:
    """A part of a page with a drawing; in print it has sheets of paper of its own, and no heading but its own."""
    return element("section", element("h2", TITLE), *drawing_figures(drawing, id_), class_="part drawing", id=id_)


def drawing_figures(drawing: Drawing, id_: str) -> tuple[Child, ...]:
    """The drawing as it is; of one that is longer than a sheet also the cuts, which only paper shows.

    The cuts lie where nothing that fits a sheet lies across.
    """
    from blockcheck.answers.draw import PAGE_MM

    svg, cuts = drawing_svg(drawing), list[Html]()
    if drawing.sheets > 1:
        whole = f"{id_}-whole"
        svg = svg.replace("<svg ", f'<svg id="{whole}" ', 1)
        for number in range(drawing.sheets):
            top = number * PAGE_MM
            height = min(PAGE_MM, drawing.height_mm - top)
            use = f'<use href="#{whole}" width="{drawing.width_mm:g}" height="{drawing.height_mm:g}"/>'
            box = f"0 {top:g} {drawing.width_mm:g} {height:g}"
            size = f'width="{drawing.width_mm:g}mm" height="{height:g}mm"'
            cuts.append(raw(f'<svg {size} viewBox="{box}" aria-hidden="true">{use}</svg>'))
    label = f"{TITLE}: {drawing.title}"
    figure = element("figure", raw(svg), class_="drawing screen" if cuts else "drawing", tabindex=0, aria_label=label)
    return (figure, *(element("figure", cut, class_="drawing paper") for cut in cuts))
