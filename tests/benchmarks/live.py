"""How soon a save shows on the live page: processor time of each stage, from reading the files to the page's text.

    python -m tests.benchmarks.live [BLOCKS [EXAMPLE ...]]

Asked is that the page itself is there within 1 s; what takes the electrics, the rules and the test sheet comes after.
The time that others take from the processor is not counted. Beside each, how many times ``tomllib.load`` it takes.
"""

from __future__ import annotations

import sys
import tempfile
import time
import tomllib
from collections.abc import Sequence
from pathlib import Path

from blockcheck import api
from blockcheck.live.watched import STAGES, Watched
from tests.benchmarks.generate import layout
from tests.outside.inhand import FILES, ROOT

WORDS = ("its rows and ways", "what trains read, findings and the drawing", "the test sheet")


def main(blocks: int, names: Sequence[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        large = Path(folder) / "large.toml"
        large.write_text(layout(blocks, wired=True), "utf-8")
        files = {name: ROOT / "examples" / f"{FILES[name]}.toml" for name in names}
        for name, file in {**files, **({f"{blocks} blocks": large} if blocks else {})}.items():
            watched = Watched.of(str(file))  # imports everything, as a server that runs has
            began = time.process_time()
            tomllib.loads(file.read_text("utf-8"))
            unit, began = time.process_time() - began, time.process_time()
            study = api.load(str(file))
            for stage in range(len(STAGES)):
                watched.served = watched.made(study, stage)
                took = time.process_time() - began
                print(f"{name}: {WORDS[stage]} after {took:.2f} s, {took / unit:.0f} times tomllib.load")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100, sys.argv[2:] or ("small", "club"))
