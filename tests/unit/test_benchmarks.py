"""The benchmarks run: each once, at its smallest, so that none rots between the days on which somebody measures."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SMALLEST: dict[str, tuple[list[str], str]] = {
    # program: its arguments, what it prints
    "backends": (["2"], "operating point of"),
    "bench": (["16"], "pages of A4"),
    "editor": (["16"], "16 blocks, right: 0 findings"),
    "electric_scale": (["96"], "times tomllib.load"),
    "faults_on_page": (["40", "small"], "small with beeper and axle, of the second model"),
    "generate": (["1", os.devnull, "wired"], ""),
    "law": (["deep-series", "--only", "check", "--scale", "0.02", "--sizes", "1"], "deep-series: n=2"),
    "live": (["0", "small"], "small: the test sheet after"),
    "page": (["2"], "club: a touch takes"),
    "refusals": (["1000"], "headers in headers: status 2"),
    "scale": (["1"], "1 wired blocks: check is"),
    "startup": (["1"], "times import typer"),
    "trace": (["1"], "one trace"),
    "whatif": (["17", "96"], "a warm isolate at 96 blocks takes"),
}


def test_every_benchmark_is_run() -> None:
    assert {path.stem for path in (ROOT / "tests" / "benchmarks").glob("[!_]*.py")} == SMALLEST.keys()


@pytest.mark.parametrize("name", SMALLEST)
def test_a_benchmark_runs(name: str) -> None:
    arguments, printed = SMALLEST[name]
    command = [sys.executable, "-m", f"tests.benchmarks.{name}", *arguments]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    run = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=300, check=False)
    assert run.returncode == 0, run.stderr
    assert printed in run.stdout
