"""Pages in hand for the tests, each made once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import blockcheck
from blockcheck.types import Study

ROOT = Path(__file__).resolve().parents[2]
FILES = {"small": "small-yard/yard", "club": "club-yard/club", "dc": "dc-yard/yard", "faulty": "faulty-yard/yard"}


@cache
def example(name: str) -> Study:
    """A layout of the examples."""
    return blockcheck.load(ROOT / "examples" / f"{FILES.get(name, name)}.toml")


@cache
def written(study: Study, sheet: bool = True) -> str:
    """Its page."""
    return blockcheck.render(blockcheck.page(study, sheet=sheet), "html")
