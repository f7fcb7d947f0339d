"""The elements that drawings and print sheets are written with."""

from __future__ import annotations

from blockcheck.formats.escape import for_markup


def number(value: float, digits: int = 4) -> str:
    """A coordinate as SVG has it: at most so many decimals, no minus zero."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, *children: str, **attributes: str | float | None) -> str:
    """An element of SVG or HTML. ``children`` are markup already; attributes are escaped, None is left out.

    Underscores of attribute names stand for hyphens; ``class_`` for ``class``.
    """
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{for_markup(value) if isinstance(value, str) else number(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{told}>{''.join(children)}</{name}>" if children else f"<{name}{told}/>"


def label(text: str, x: float, y: float, size: float, **attributes: str | float | None) -> str:
    """A line of text with its baseline at ``y``; ``size`` in the units of the drawing."""
    return element("text", for_markup(text), x=x, y=y, font_size=size, **attributes)
