"""What a datum is called where it is missing: one name for each, whoever misses it."""

from __future__ import annotations

from collections.abc import Iterable

from blockcheck.core.spans import Path
from blockcheck.model.wiring import Fed

RUNNING = "loads.*.running"
"""What anything draws that runs."""
AXLE = "loads.*.axle"
"""What could be seen as the smallest vehicle."""


def datum(*path: str | int) -> str:
    """A key of the layout: ``blocks.S1.length``."""
    return ".".join(map(str, path))


def data(paths: Iterable[Path]) -> tuple[str, ...]:
    """Several keys of the layout, each once."""
    return tuple(dict.fromkeys(datum(*path) for path in paths))


def wires_of(paths: Iterable[Path]) -> tuple[str, ...]:
    """What keeps a block out of the network: keys, or names that are referred to and are not there."""
    return data(paths) or ("names that exist",)


def load_of(district: str) -> str:
    """What is awake in a district."""
    return f"{datum('districts', district, 'expects')} or a train"


def feed_of(fed: Fed) -> tuple[str, ...]:
    """What a block lacks that hangs on nothing: a channel or a district that exists."""
    return data(fed.missing) or (datum("blocks", fed.block.name, "district"),)
