"""Docstrings, which are data here: they are what ``explain`` and ``--help`` say."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType
from typing import Any


def docstring(thing: ModuleType | type | Callable[..., Any]) -> str:
    """The docstring of a module, class or function; from its source where Python was told to drop them (``-OO``)."""
    if thing.__doc__ is not None:
        return thing.__doc__
    from ast import get_docstring, parse
    from inspect import getsource
    from textwrap import dedent

    tree: Any = parse(dedent(getsource(thing)))
    return get_docstring(tree if isinstance(thing, ModuleType) else tree.body[0], clean=False) or ""
