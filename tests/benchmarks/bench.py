"""Test sheets and traces in processor time, with `import typer` as the yardstick of the machine in the same run.

    python -m tests.benchmarks.bench [BLOCKS ...]

`bench` of the club's example as the command is run, of wired layouts of so many storage blocks, and how that grows
between the last two; `trace` of the small yard, of the club and of the last layout but one, each with a drop missing;
how many steps and pages of A4 the sheets for a beeper and a test axle have. Set OPENBLAS_NUM_THREADS=1: processor time
counts that of all threads. Prints, asserts nothing.
"""

from __future__ import annotations

import math
import os
import random
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median
from time import process_time

from blockcheck import api, render
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.units import benches
from blockcheck.analysis.bench.wired import OPEN_OHM
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.bench import BenchAnswer
from blockcheck.answers.workshop.readings import shown_names, shown_value
from tests.benchmarks.generate import between_throats, layout
from tests.benchmarks.trace import SMALL
from tests.outside.browser import chromium
from tests.outside.printed import Printer

CLUB = SMALL.parents[1] / "club-yard" / "club.toml"


def of_process(command: list[str]) -> float:
    """Processor seconds of a command; what Python has compiled is kept for the next, as where it is installed."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "blockcheck-compiled")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def typer() -> float:
    """The yardstick."""
    return of_process([sys.executable, "-c", "import typer"])


def taken(work: Callable[[], object]) -> tuple[float, str]:
    """Processor seconds of some work, alone and beside the yardstick."""
    before, begun = typer(), process_time()
    work()
    seconds = process_time() - begun
    return seconds, told(seconds, (before + typer()) / 2)


def told(seconds: float, yardstick: float) -> str:
    """Both figures."""
    return f"{seconds:.2f} s, import typer {1000 * yardstick:.0f} ms: {seconds * 0.1 / yardstick:.2f} s where it is 100"


def read(study: Study) -> str:
    """The filled sheet of a layout of which the first drop is missing, every test that can be made with a supply."""
    chance, found, fault = random.Random(3), dict[str, str](), ""
    for bench in benches(study):
        put = [one for one in causes(bench) if one.kind == "drop-missing" and fault in ("", one.id)][:1]
        fault = fault or next((one.id for one in put), "")
        steps = [one for one in bench.tests if one.id not in found]
        told = predict(bench, steps, [one.change for one in put])
        for at, step in enumerate(steps):
            value = told.value(at, len(put))
            if isinstance(value, Names):
                found[step.id] = shown_names(Names(value))
            else:
                noisy = value * chance.gauss(1.0, 0.02) if value < OPEN_OHM else value
                found[step.id] = shown_value(step, round(noisy, 3))
    return "format = 1\n" + "".join(f'[[steps]]\nid = "{one}"\nreading = "{shown}"\n' for one, shown in found.items())


def sheets() -> Iterator[tuple[str, BenchAnswer]]:
    """The sheets for a beeper and a test axle that people are to finish."""
    yield "the small yard", api.bench(api.load(SMALL))
    for gap in ("detected", "both"):
        yield f'14 tracks, gap = "{gap}"', api.bench(api.loads(between_throats(gap)))


def main(arguments: list[str]) -> None:
    sizes = [int(one) for one in arguments] or [112, 512, 2000]
    command = [sys.executable, "-m", "blockcheck", "bench", str(CLUB)]
    of_process(command)
    pairs = [(typer(), of_process(command)) for _ in range(5 if len(arguments) != 1 else 1)]
    yardstick, seconds = (median(some) for some in zip(*pairs, strict=True))
    print(f"bench of the club: {told(seconds, yardstick)}")
    times = dict[int, float]()
    for size in sizes:
        study = api.loads(layout(size, True))
        count = len(study.blocks)
        times[count], words = taken(partial(api.bench, study))
        print(f"bench of {count} wired blocks: {words}", flush=True)
    if len(times) > 1:
        (few, short), (many, long) = [*times.items()][-2:]
        print(f"   from {few} to {many} blocks it grows as n^{math.log(long / short) / math.log(many / few):.2f}")
    large = ((f"{size} storage blocks", partial(api.loads, layout(size, True))) for size in sizes[-2:-1])
    for name, make in (("the small yard", partial(api.load, SMALL)), ("the club", partial(api.load, CLUB)), *large):
        filled, study = read(make()), make()
        _, words = taken(partial(api.trace, study, "readings.toml", data=filled))
        print(f"trace of {name}, {filled.count('[[steps]]')} readings: {words}", flush=True)
    with chromium() as browser:
        for name, answer in sheets():
            pages = len(Printer(browser).pages(render(answer, "html")))
            print(f"sheet of {name}: {len(answer.steps)} steps on {pages} pages of A4")


if __name__ == "__main__":
    main(sys.argv[1:])
