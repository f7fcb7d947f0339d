"""blockcheck checks the track wiring of model railways: detection, isolation, power districts.

``load`` reads a layout from its files, ``loads`` from text; every command of the command line is a function of the same
name that is asked of what they return::

    yard = blockcheck.load("yard.toml")
    print(blockcheck.check(yard))
    for row in blockcheck.channels(yard).rows:
        print(row.block, row.board, row.channel)
    print(blockcheck.render(blockcheck.isolate(yard, "3-7"), "markdown"))

An answer is frozen. It prints as the command's text, ``to_dict()`` is what ``--format json`` writes, ``render`` makes
the other formats, and a notebook shows its tables. Numbers are in amperes, volts, ohms, metres, seconds, farads.

Files that cannot be understood raise ``InputError``, with every fault at its place; calls that cannot, ``CallError``.
Both are ``BlockcheckError``. All types are in ``blockcheck.types``.
"""

# ruff: noqa: I001 - several names keep one line

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.answers import answer as _answer
from blockcheck.core.lazy import lazily as _lazily
from blockcheck.core.version import __version__ as __version__

if TYPE_CHECKING:
    from blockcheck import types as types
    from blockcheck.api import load as load, loads as loads
    from blockcheck.api import check as check, channels as channels, isolate as isolate, isolate_each as isolate_each
    from blockcheck.api import isolate_state as isolate_state, power as power
    from blockcheck.api import budget as budget, wake as wake, book as book, draw as draw, compare as compare
    from blockcheck.api import wires as wires, panel as panel, bench as bench, trace as trace
    from blockcheck.api import where as where, page as page
    from blockcheck.api import explain as explain, new as new
    from blockcheck.core.errors import BlockcheckError as BlockcheckError, CallError as CallError
    from blockcheck.core.errors import InputError as InputError, OutOfTimeError as OutOfTimeError
    from blockcheck.formats.registry import render as render
else:
    __all__, __getattr__, __dir__ = _lazily(
        __name__,
        {
            "blockcheck.api": "load loads check channels isolate isolate_each isolate_state power budget wake book "
            "draw compare wires panel bench trace where page explain new",
            "blockcheck.core.errors": "BlockcheckError CallError InputError OutOfTimeError",
            "blockcheck.formats.registry": "render",
        },
        modules=("types",),
    )


def _formats(answer: _answer.Answer) -> _answer.Made:
    from blockcheck.formats.registry import plain_formats

    return plain_formats(answer)


_answer.made_by(_formats)
