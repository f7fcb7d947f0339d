"""The law of cost: nothing that a file of 1 MB says takes a command more than 10 s of a processor or 500 MB.

``python -m tests.benchmarks.law [LAYOUT ...] [--only COMMANDS] [--sizes N]`` prints what every command takes on layouts
that are small to write and large to work out, each in a process of its own: seconds and megabytes at n and 2n, and the
exponent of growth between the two, less the start of the process. Aims: 10 s (bench, trace 60 s), 500 MB, and n^1.3.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path

from attrs import frozen

from tests.heavy_layouts import LAYOUTS

COMMANDS = (
    *("check", "check -f html", "channels", "isolate", "isolate --each", "power", "budget", "wake", "wires"),
    *("wires -f labels-html", "panel", "draw", "book", "page", "compare", "where S1", "bench", "trace"),
)
LONG = ("bench", "trace", "page", "book", "where", "compare")


MEASURE = """
import gc, resource, sys, time
gc.disable()  # as the command does
resource.setrlimit(resource.RLIMIT_CPU, ({limit}, {limit} + 5))
from blockcheck.__main__ import main
status = main(sys.argv[1:])
sys.stdout.flush()
used = resource.getrusage(resource.RUSAGE_SELF)
print("took", status, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=sys.stderr)
"""


@frozen
class Cost:
    """Seconds of a processor, megabytes, exit status; None where it was stopped."""

    seconds: float
    megabytes: float
    status: int | None
    told: str = ""

    def __str__(self) -> str:
        if self.status is None:
            return f"stopped {self.told}"
        return (
            f"{self.seconds:.1f} s {self.megabytes:.0f} MB{'' if self.status < 2 else f' [{self.status} {self.told}]'}"
        )


def cost(words: Sequence[str], folder: Path, limit: int) -> Cost:
    """What a call takes, in a process of its own."""
    run = subprocess.run(
        [sys.executable, "-c", MEASURE.format(limit=limit), *words],
        cwd=folder,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    told = run.stderr.splitlines()
    if not told or not told[-1].startswith("took "):
        return Cost(limit, 0, None, f"at {limit} s" if run.returncode == -24 else f"{run.returncode} {told[-1:]}")
    _, status, seconds, megabytes = told[-1].split()
    return Cost(float(seconds), float(megabytes), int(status), told[0][:90])


def called(command: str, folder: Path, limit: int) -> Cost:
    """What a command takes of the layout in a folder."""
    name, *more = command.split()
    words = [name, "l.toml", *more]
    if name == "compare":
        words.append("l.toml")
    if name in ("draw", "panel", "book", "page"):
        words += ["-o", f"{name}.{'svg' if name in ('draw', 'panel') else 'html'}", "--force"]
    if name == "trace":
        if not (folder / "readings.toml").exists():
            made = cost(["bench", "l.toml", "-o", "readings.toml"], folder, limit)
            if made.status is None or not (folder / "readings.toml").exists():
                return made
            filled(folder / "readings.toml")
        words.append("readings.toml")
    return cost(words, folder, limit)


def filled(path: Path) -> None:
    """A sheet in which all reads silent: a rail or a wire that is off everywhere."""
    path.write_text(path.read_text("utf-8").replace('reading = ""', 'reading = "silent"'), "utf-8")


def measured(name: str, commands: Iterable[str], sizes: int, limit: int, scale: float) -> None:
    """Print a layout's costs."""
    make, usual = LAYOUTS[name]
    counts = [max(1, round(usual * scale)) * 2**k for k in range(sizes)]
    with tempfile.TemporaryDirectory() as made:
        folders = [Path(made) / str(n) for n in counts]
        for n, folder in zip(counts, folders, strict=True):
            folder.mkdir()
            (folder / "l.toml").write_text(make(n), "utf-8")
        told = " ".join(
            f"n={n} ({(folder / 'l.toml').stat().st_size} bytes)" for n, folder in zip(counts, folders, strict=True)
        )
        print(f"{name}: {told}", flush=True)
        start = cost(["--version"], folders[0], 60).seconds
        for command in commands:
            costs = [called(command, folder, limit) for folder in folders]
            grown = [growth(one, two, start) for one, two in pairwise(costs)]
            most = 60 if command.split()[0] in LONG else 10
            broken = any(one.seconds > most or one.megabytes > 500 or one.status is None for one in costs)
            print(
                f"  {command:22} {'; '.join(map(str, costs))}; {', '.join(grown)}{'  BROKEN' if broken else ''}",
                flush=True,
            )


def growth(one: Cost, two: Cost, start: float) -> str:
    """The exponent between n and 2n, where there is enough to tell."""
    first, second = one.seconds - start, two.seconds - start
    if second < 0.5 or first <= 0.05 or None in (one.status, two.status):
        return "-"
    exponent = math.log2(second / first)
    return f"n^{exponent:.1f}" + (" GROWS" if exponent > 1.3 else "")


def main(arguments: list[str]) -> None:
    """Print what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.law")
    parser.add_argument("layouts", nargs="*", metavar="LAYOUT", help=", ".join(LAYOUTS))
    parser.add_argument("--only", help="commands, with commas between")
    parser.add_argument("--sizes", type=int, default=2)
    parser.add_argument("--limit", type=int, default=90, help="seconds after which a call is stopped")
    parser.add_argument("--scale", type=float, default=1.0)
    given = parser.parse_args(arguments)
    commands = given.only.split(",") if given.only else COMMANDS
    for name in given.layouts or LAYOUTS:
        measured(name, commands, given.sizes, given.limit, given.scale)


if __name__ == "__main__":
    main(sys.argv[1:])
