"""Time and memory of ``check`` as ratios in one run: ``python -m tests.benchmarks.scale [BLOCKS ...]``.

The yardstick is a bare ``tomllib.load`` of the same file in a process of its own, less the interpreter's start.
Aims: at 10,000 blocks the whole process at most 5 times that plus the interpreter's start with wires, 4 with contacts
only, and at most 500 MB. Processor time, so that what else runs does not count.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.generate import layout

LOAD = "import sys, tomllib; tomllib.load(open(sys.argv[1], 'rb'))"
PEAK = "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
CHECK = f"""
import gc, sys
gc.disable()  # as the command does
from blockcheck.__main__ import main
status = main(["check", sys.argv[1]])
assert status == 0, status
{PEAK.replace("print(", "print(file=sys.stderr, *[").replace("_maxrss)", "_maxrss])")}
"""


def seconds(command: list[str], runs: int = 3) -> float:
    """Least processor time of a command, in seconds."""
    taken = []
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(taken)


def main(sizes: list[int]) -> None:
    """Print one line a size."""
    python = sys.executable
    start = seconds([python, "-c", "pass"])
    for blocks, wired in ((blocks, wired) for blocks in sizes for wired in (False, True)):
        with tempfile.TemporaryDirectory() as folder:
            file = str(Path(folder) / "big.toml")
            Path(file).write_text(layout(blocks, wired), "utf-8")
            load = seconds([python, "-c", LOAD, file]) - start
            check = seconds([python, "-c", CHECK, file])
            run = subprocess.run([python, "-c", CHECK, file], check=True, capture_output=True, text=True)
            peak = int(run.stderr.split()[-1]) / 1024
        ratio = (check - start) / load
        what = "wired blocks" if wired else "blocks with contacts only"
        print(f"{blocks} {what}: check is {ratio:.2f} times tomllib.load ({load:.2f} s), peak {peak:.0f} MB")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [1000, 10000])
