"""Modules whose names live elsewhere: each is imported when it is first asked for, and not before."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from importlib import import_module


def lazily(
    module: str, homes: Mapping[str, str], modules: Iterable[str] = ()
) -> tuple[list[str], Callable[[str], object], Callable[[], list[str]]]:
    """The ``__all__``, ``__getattr__`` and ``__dir__`` of a module.

    ``homes`` maps the modules that names live in to those names, with spaces between; ``modules`` lie inside this one.
    """
    where = {name: home for home, names in homes.items() for name in names.split()}
    inner = tuple(modules)

    def get(name: str) -> object:
        if name in inner:
            return import_module(f"{module}.{name}")
        if name not in where:
            raise AttributeError(f"module {module!r} has no attribute {name!r}")
        found = getattr(import_module(where[name]), name)
        setattr(sys.modules[module], name, found)
        return found

    def names() -> list[str]:
        own = (name for name in vars(sys.modules[module]) if name.startswith("__"))
        return sorted({*own, *where, *inner})

    return sorted(where), get, names
