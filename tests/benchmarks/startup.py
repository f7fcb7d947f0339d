"""Start-up as a ratio in one run: ``python -m tests.benchmarks.startup [RUNS]``, blockcheck installed from its wheel.

The yardstick is ``python -c "import typer"``, whole process. Aim: ``blockcheck check`` on the small yard at most 4
times that, medians.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
YARD = ROOT / "examples" / "small-yard" / "yard.toml"


def once(command: list[str]) -> float:
    """Wall time of a command, in seconds."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main(runs: int = 41) -> None:
    """Print the ratio; the two commands take turns, so that both see the same machine."""
    typer = [sys.executable, "-c", "import typer"]
    check = [str(Path(sys.executable).parent / "blockcheck"), "check", str(YARD)]
    pairs = [(once(typer), once(check)) for _ in range(runs)]
    base, whole = (statistics.median(side) for side in zip(*pairs, strict=True))
    print(f"check takes {whole / base:.2f} times import typer ({whole * 1000:.0f} ms against {base * 1000:.0f} ms)")


if __name__ == "__main__":
    main(*(int(runs) for runs in sys.argv[1:2]))
