"""How soon an editor is told what is quick to find: processor time of reading and checking a text that has changed.

    python -m tests.benchmarks.editor [BLOCKS]

Asked are 300 ms from the last key at 100 blocks, of which the server waits `PAUSE_S` for another one. Once where all is
right, once with a name that is nowhere in every block, so that each has a finding whose place is looked for.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

from blockcheck.editor.layouts import look
from blockcheck.editor.server import PAUSE_S
from tests.benchmarks.generate import layout

RUNS = 5


def main(blocks: int) -> None:
    right = layout(blocks, wired=True)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "yard.toml"
        file.write_text(right, "utf-8")
        for words, text in (
            ("right", right),
            ("wrong in every block", right.replace('isolator = "I', 'isolator = "J')),
        ):
            took, found = [], 0
            for run in range(RUNS):
                began = time.process_time()
                seen = look(file, {file: text.replace("Long sidings", f"Long sidings {run}")}, quick=True)
                took.append(time.process_time() - began)
                found = 0 if seen is None else len(seen.findings)
            ms = 1000 * statistics.median(took)
            print(f"{blocks} blocks, {words}: {found} findings {ms:.0f} ms after a pause of {1000 * PAUSE_S:.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
