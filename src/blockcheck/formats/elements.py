"""The elements that drawings and print sheets are written with."""

from __future__ import annotations

import html
import re


def escape(text: str) -> str:
    """Text that means itself in a page; signs that a page cannot hold are replaced by U+FFFD."""
    return html.escape(re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]", "\ufffd", text))


def number(value: float, digits: int = 4) -> str:
    """A coordinate as SVG has it: at most so many decimals, no minus zero."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, *children: str, **attributes: str | float | None) -> str:
    """An element of SVG or HTML. ``children`` are markup already; attributes are escaped, None is left out.

    Underscores of attribute names stand for hyphens; ``class_`` for ``class``.
    """
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{number(value) if isinstance(value, int | float) else escape(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{told}>{''.join(children)}</{name}>" if children else f"<{name}{told}/>"


def label(text: str, x: float, y: float, size: float, **attributes: str | float | None) -> str:
    """A line of text with its baseline at ``y``; ``size`` in the units of the drawing."""
    return element("text", escape(text), x=x, y=y, font_size=size, **attributes)
