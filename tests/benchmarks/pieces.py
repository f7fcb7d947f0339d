"""Times the reduction against one splu of the whole network: `python -m tests.benchmarks.pieces`. Prints
only."""

from itertools import pairwise
from statistics import median
from time import perf_counter

import numpy as np
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from blockcheck.circuit.solver.blocks import Pieces
from tests.outside.networks.layouts import Yard, yard


def whole_matrix(made: Yard) -> csc_array[np.float64]:
    nodes, a, b, g = made.whole()
    diagonal = np.bincount(a, g, nodes) + np.bincount(b, g, nodes)
    diagonal[1] += 1.0  # the return terminal of the first district is the reference
    every = np.arange(nodes)
    values = np.concatenate([diagonal, -g, -g])
    ends = (np.concatenate([every, a, b]), np.concatenate([every, b, a]))
    return coo_array((values, ends), shape=(nodes, nodes)).tocsc()


def main() -> None:
    for pieces in (100, 1_000, 10_000):
        made = yard(pieces)
        matrix = whole_matrix(made)
        right = np.concatenate([made.core_amperes, made.amperes.T.ravel()])
        times: dict[str, list[float]] = {}
        for _ in range(5 if pieces < 10_000 else 3):
            marks = [("", perf_counter())]
            lu = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
            marks.append(("splu", perf_counter()))
            theirs = lu.solve(right)
            marks.append(("splu solve", perf_counter()))
            reduced = Pieces(made.core_nodes, made.a, made.b, made.siemens, [made.bucket])
            marks.append(("reduce and factorise", perf_counter()))
            core, (inside,) = reduced.solve(made.core_amperes, [made.amperes])
            marks.append(("solve", perf_counter()))
            (ohms,) = reduced.transfer()
            marks.append(("ohms of every point", perf_counter()))
            for (_, before), (name, after) in pairwise(marks):
                times.setdefault(name, []).append(after - before)
        ours = np.concatenate([core, inside.T.ravel()])
        worst = np.abs((ours - ours[1]) - (theirs - theirs[1])).max()
        shape = made.bucket.shape
        off = 0.0
        for piece in range(0, pieces, max(1, pieces // 5)):
            x, y = (made.core_nodes + piece * shape.nodes + node for node in shape.quads[3][:2])
            unit = np.zeros(len(right))
            unit[x], unit[y] = 1.0, -1.0
            there = lu.solve(unit)
            off = max(off, abs((there[x] - there[y]) / ohms[3, piece] - 1))
        medians = {name: median(found) for name, found in times.items()}
        total = sum(medians[name] for name in ("reduce and factorise", "solve", "ohms of every point"))
        print(f"{pieces} blocks, {len(right)} nodes, core {made.core_nodes}; {ohms.size} transfer ohms")
        print("   " + ", ".join(f"{name} {1000 * found:.1f} ms" for name, found in medians.items()))
        print(f"   voltages differ by {worst:.1e} V, ohms by {off:.1e} of themselves")
        print(f"   all three together take {total / medians['splu']:.2f} of splu alone")


if __name__ == "__main__":
    main()
