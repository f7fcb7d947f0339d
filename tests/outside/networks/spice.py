"""Runs ngspice on a deck. Its exit status says nothing; a singular matrix is told on stderr alone."""

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest

MISSING = "ngspice is not installed; on Debian: apt-get install ngspice"


def run_ngspice(deck: str) -> dict[str, float]:
    """Name (lower case, as ngspice prints it: `v(n3)`, `i(vv0)`) to value."""
    if shutil.which("ngspice") is None:
        if os.environ.get("CI"):
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "deck.cir").write_text(deck)
        done = subprocess.run(
            ["ngspice", "-b", "deck.cir"], cwd=folder, capture_output=True, text=True, timeout=60, check=False
        )
        raw = Path(folder, "operating.raw")
        if "singular" in done.stderr or not raw.exists():
            raise AssertionError(f"ngspice found no operating point:\n{done.stderr}\n{deck}")
        names, _, values = raw.read_text().partition("Variables:\n")[2].partition("Values:\n")
    found = [line.split()[1] for line in names.splitlines() if line.strip()]
    numbers = values.split()
    # the first value follows the point's number
    return dict(zip(found, map(float, numbers[1:]), strict=True))
