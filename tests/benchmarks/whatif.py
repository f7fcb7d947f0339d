"""What-ifs on large layouts as ratios in one run: `python -m tests.benchmarks.whatif`.

A warm `isolate` of one track at 10,000 blocks against one at 100, also where one booster feeds all, and all
single-isolator what-ifs of 10,000 blocks against one `splu` of the whole network. The layouts are those of
`electric_scale`. Medians of processor time; making the islands and solving the layout as it stands are in neither, and
said apart. Prints, asserts nothing. Arguments are two numbers of blocks.
"""

from __future__ import annotations

import sys
from statistics import median
from time import process_time

from scipy.sparse.linalg import splu

from blockcheck import api
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.singles import singles
from blockcheck.analysis.whatif.whatif import WhatIf
from tests.benchmarks.electric_scale import matrix_of, timed
from tests.benchmarks.generate import layout

RUNS = 14


def warm(case: Study) -> float:
    """Seconds of an `isolate` of one track; every one of them is another."""
    start = process_time()
    api.isolate(case, "y1:1")
    first, taken = process_time() - start, list[float]()
    for number in range(2, RUNS + 2):
        start = process_time()
        api.isolate(case, f"y1:{number}")
        taken.append(process_time() - start)
    found = median(taken)
    print(f"{len(case.blocks)} blocks: the first isolate {first:.2f} s, a warm one {1000 * found:.0f} ms")
    return found


def all_at_once(case: Study) -> None:
    """Every single-isolator what-if, from the operating point on, against one `splu` of the network at that point."""
    electrics = Electrics.of(case, case.operations[0])
    _ = electrics.loaded, electrics.unloaded
    matrix = matrix_of(electrics)
    symmetric = {"SymmetricMode": True}
    theirs = timed(3, lambda: splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=symmetric))
    ifs = WhatIf.of(case, case.operations[0])
    ours = timed(3, lambda: [one.volts.min() for one in singles(ifs)])
    count = alone = 0
    for one in singles(ifs):
        count, alone = count + len(one.isolators), alone + len(one.changes)
    print(f"   all {count} single-isolator what-ifs {ours:.2f} s, splu {theirs:.2f} s: {ours / theirs:.2f} of it")
    print(f"   ({alone} of them solved one by one)")


def main(arguments: list[str]) -> None:
    few, many = [int(one) for one in arguments] or [100, 10000]
    small, large = (api.loads(layout(blocks, wired=True), "yard.toml") for blocks in (few, many))
    warm(small)  # numpy's and scipy's first times
    one, other = warm(small), warm(large)
    print(f"   a warm isolate at {many} blocks takes {other / one:.2f} times as long as at {few}")
    alone = [warm(api.loads(layout(blocks, True, 'current = "500 A"'), "yard.toml")) for blocks in (few, many)]
    print(f"   where one booster feeds all {alone[1] / alone[0]:.2f} times as long")
    all_at_once(large)


if __name__ == "__main__":
    main(sys.argv[1:])
