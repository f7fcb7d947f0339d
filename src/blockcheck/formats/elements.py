"""The elements that pages and drawings are written with. Text is escaped by construction."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from blockcheck.formats.escape import for_markup

_EMPTY = frozenset({"br", "hr", "img", "input", "link", "meta", "col", "wbr"})
_SHAPES = frozenset({"circle", "line", "path", "polygon", "polyline", "rect", "use"})


@frozen
class Html:
    """A piece of a page or of a drawing. Only ``element`` and ``raw`` make one, the latter without escaping."""

    markup: str

    def __str__(self) -> str:
        return self.markup


Child = str | Html | None
Attribute = str | float | bool | None


def raw(markup: str) -> Html:
    """Markup that is right as it stands."""
    return Html(markup)


def element(tag: str, *children: Child, **attributes: Attribute) -> Html:
    """``<tag>`` of HTML or SVG with its children; text is escaped, None left out.

    An attribute is written with ``_`` for ``-`` (one at the end only tells it from Python's own words); True has no
    value, None and False are left out.
    """
    shown = ""
    for name, value in attributes.items():
        if value is None or value is False:
            continue
        shown += f" {name.rstrip('_').replace('_', '-')}"
        if value is not True:
            shown += f'="{for_markup(value) if isinstance(value, str) else number(value)}"'
    if tag in _EMPTY:
        return Html(f"<{tag}{shown}>")
    return Html(f"<{tag}{shown}/>" if tag in _SHAPES else f"<{tag}{shown}>{joined(children)}</{tag}>")


def joined(children: Iterable[Child], between: str = "") -> Html:
    """Pieces one after the other."""
    pieces = [one.markup if isinstance(one, Html) else for_markup(one) for one in children if one is not None]
    return Html(between.join(pieces))


def number(value: float, digits: int = 4) -> str:
    """A number as SVG has it: at most so many decimals, no minus zero."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def label(text: str, x: float, y: float, size: float, **attributes: Attribute) -> Html:
    """A line of text with its baseline at ``y``; ``size`` in the units of the drawing."""
    return element("text", text, x=x, y=y, font_size=size, **attributes)


def thing(name: str, taken: set[str]) -> str | None:
    """The ``id`` of what has a name on the layout, so that ``#S3`` leads there; None where that is ``taken``."""
    id_ = "-".join(name.split())
    if not id_ or id_ in taken:
        return None
    taken.add(id_)
    return id_
