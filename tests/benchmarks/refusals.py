"""What refusing a file costs beyond a bare ``tomli`` read of it: ``python -m tests.benchmarks.refusals [PARTS]``.

With PARTS each file has only one in so many of what makes it heavy. Aims: at most 2 s of processor time and 300 MB
beyond what the file itself needs.
"""

from __future__ import annotations

import itertools
import string
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.generate import layout


def keys(count: int, form: str) -> str:
    """Very many short keys, all different."""
    words = map("".join, itertools.product(string.ascii_letters + string.digits, repeat=4))
    return "".join(form % word for word in itertools.islice(words, count))


HEAVY: dict[str, Callable[[int], str]] = {
    "ten megabytes": lambda parts: "# a long story\n" * (700_000 // parts),
    "a million keys": lambda parts: "[limits]\n" + keys(1_000_000 // parts, "%s=1\n"),
    "tables that are none": lambda parts: keys(240_000 // parts, "[q.%s]\n"),
    "one line": lambda parts: "[blocks]\n" + "x = {" + keys(240_000 // parts, "%s=1,") + "a=1}\n",
    "a table twice": lambda parts: keys(240_000 // parts, "[blocks.%s]\n") + "[blocks.aaaa]\n",
    "ranges in ranges": lambda parts: "".join(f'[blocks.Q1-{4096 - n}]\nkind = "x"\n' for n in range(-(-48 // parts))),
    "a range of very many keys": lambda parts: "[blocks.Q1-4096]\n" + keys(20_000 // parts, "%s=1\n"),
    "headers in headers": lambda parts: "".join(f"[{'a.' * 900}b{one}]\n" for one in range(-(-1000 // parts))),
}
MEASURE = """
import gc, resource, sys, time
gc.disable()  # as the command does
from {module} import {name}
try:
    status = {call}
except Exception:
    status = None
used = resource.getrusage(resource.RUSAGE_SELF)
print(status, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=sys.stderr)
"""


def measured(module: str, name: str, call: str, path: Path) -> tuple[str, float, float]:
    """Status, seconds of processor time and megabytes of a process that reads a file."""
    code = MEASURE.format(module=module, name=name, call=call)
    run = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True, timeout=120
    )
    status, seconds, megabytes = run.stderr.split()[-3:]
    return status, float(seconds), float(megabytes)


def cost(path: Path) -> tuple[str, float, float]:
    """Status, and seconds and megabytes beyond the bare read."""
    _, bare_s, bare_mb = measured("tomli", "loads", "len(loads(open(sys.argv[1]).read()))", path)
    status, seconds, megabytes = measured("blockcheck.__main__", "main", "main(['check', sys.argv[1]])", path)
    return status, seconds - bare_s, megabytes - bare_mb


def main(parts: int = 1) -> None:
    """Print one line a file."""
    with tempfile.TemporaryDirectory() as folder:
        for name, make in HEAVY.items():
            path = Path(folder) / "yard.toml"
            path.write_text(layout(16) + make(parts), "utf-8")
            status, seconds, megabytes = cost(path)
            print(f"{name}: status {status}, {seconds:.2f} s and {megabytes:.0f} MB beyond the bare read")


if __name__ == "__main__":
    main(*(int(parts) for parts in sys.argv[1:2]))
