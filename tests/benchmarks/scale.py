"""Time and memory of ``check`` as ratios in one run: ``python -m tests.benchmarks.scale [BLOCKS ...]``.

The yardstick is a bare ``tomllib.load`` of the same file in a process of its own, less the interpreter's start.
Aims: at 10,000 blocks the whole process at most 6 times that plus the interpreter's start, and at most 500 MB.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.generate import layout

LOAD = "import sys, tomllib; tomllib.load(open(sys.argv[1], 'rb'))"
PEAK = "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
CHECK = f"""
import sys
from blockcheck.__main__ import main
status = main(["check", sys.argv[1]])
assert status == 0, status
{PEAK.replace("print(", "print(file=sys.stderr, *[").replace("_maxrss)", "_maxrss])")}
"""


def seconds(command: list[str], runs: int = 5) -> float:
    """Median wall time of a command, in seconds."""
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main(sizes: list[int]) -> None:
    """Print one line a size."""
    python = sys.executable
    start = seconds([python, "-c", "pass"])
    for blocks in sizes:
        with tempfile.TemporaryDirectory() as folder:
            file = str(Path(folder) / "big.toml")
            Path(file).write_text(layout(blocks), "utf-8")
            load = seconds([python, "-c", LOAD, file]) - start
            check = seconds([python, "-c", CHECK, file])
            run = subprocess.run([python, "-c", CHECK, file], check=True, capture_output=True, text=True)
            peak = int(run.stderr.split()[-1]) / 1024
        ratio = (check - start) / load
        print(f"{blocks} blocks: check is {ratio:.2f} times tomllib.load ({load:.2f} s), peak {peak:.0f} MB")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [1000, 10000])
