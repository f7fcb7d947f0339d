"""Volts, shorts and detection of large layouts as ratios in one run: `python -m tests.benchmarks.electric_scale`.

On layouts of about 38 nodes a block, 96 blocks a district: the operating point and the short-circuit sweep of every
block, from the grid on, against one `splu` of the whole network and (given `ngspice` as an argument) against ngspice's
batch operating point alone; the peak memory of both, each in a process of its own, above what that process has once
the grid or the matrix is there; the whole `check` against a bare `tomllib.load`. Medians; importing is in none of them.
Prints, asserts nothing. Further arguments are numbers of blocks.
"""

from __future__ import annotations

import ctypes
import gc
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
from scipy.sparse import coo_array, csc_array
from scipy.sparse.linalg import splu

from blockcheck import api
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.solver.large import LargeLinear
from tests.benchmarks.generate import layout
from tests.benchmarks.scale import CHECK, LOAD, seconds
from tests.outside.networks.spice import run_ngspice


def timed(runs: int, work: object) -> float:
    """Median seconds."""
    taken = []
    for _ in range(runs):
        start = perf_counter()
        work()  # type: ignore[operator]
        taken.append(perf_counter() - start)
    return median(taken)


def matrix_of(electrics: Electrics) -> csc_array[np.float64]:
    """The whole network as one matrix, connections without resistance united, one node of every part grounded."""
    linear = electrics.unloaded.linear
    assert isinstance(linear, LargeLinear)
    a, b = (linear.cluster_at[np.asarray(ends)[linear.finite]] for ends in (linear.branches.a, linear.branches.b))
    g = 1.0 / np.asarray(linear.branches.ohms)[linear.finite]
    nodes = linear.cells.nodes
    diagonal = (np.bincount(a, g, nodes) + np.bincount(b, g, nodes)).astype(np.float64)
    _, grounds = np.unique(np.asarray(linear.factor.part), return_index=True)
    diagonal[grounds] += 1.0
    every = np.arange(nodes)
    ends = (np.concatenate([every, a, b]), np.concatenate([every, b, a]))
    return coo_array((np.concatenate([diagonal, -g, -g]), ends), shape=(nodes, nodes)).tocsc()


def sweep(case: Study, grid: object) -> Electrics:
    """The operating point, and the short-circuit current at the worst place of every block."""
    electrics = Electrics(case, case.operations[0])
    electrics.__dict__["grid"] = grid
    _ = electrics.loaded
    for block in case.blocks:
        electrics.least_short(block)
    return electrics


def spice(case: Study, electrics: Electrics) -> tuple[float, float]:
    """Seconds of ngspice's batch operating point, its process and files in, and how far its volts are from ours."""
    from blockcheck.solver.netlist import name_of

    deck = api.power(case).netlist()
    start = perf_counter()
    found = run_ngspice(deck)
    taken = perf_counter() - start
    loaded = electrics.loaded
    names = ((f"v({name_of(loaded, node)})", volts) for node, volts in enumerate(loaded.volts))
    return taken, max(abs(found[name] - volts) for name, volts in names if name in found)


def splu_of(matrix: csc_array[np.float64]) -> object:
    """The factors of the whole network, by minimum degree."""
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def resident() -> float:
    """Megabytes that this process has in memory now."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * resource.getpagesize() / 2**20


def peak_above(work: Callable[[], object]) -> float:
    """Megabytes that a piece of work takes at most above what is there before it."""
    gc.collect()
    ctypes.CDLL(None).malloc_trim(0)  # what is free already is not to serve
    Path("/proc/self/clear_refs").write_text("5", "ascii")  # the kernel's peak starts anew, see proc(5)
    before = resident()
    kept = work()
    peak = next(line for line in Path("/proc/self/status").read_text("ascii").splitlines() if line.startswith("VmHWM"))
    del kept
    return int(peak.split()[1]) / 1024 - before


def memory(what: str, blocks: int) -> None:
    """Print the peak memory of ``sweep`` or ``splu``, for the process that asks."""
    small = api.loads(layout(100, wired=True), "yard.toml")  # what is imported or laid out once
    _ = splu_of(matrix_of(sweep(small, Electrics(small, small.operations[0]).grid)))
    case = api.loads(layout(blocks, wired=True), "yard.toml")
    electrics = Electrics(case, case.operations[0])
    _ = electrics.feeding.supply
    grid = electrics.grid
    if what == "sweep":
        print(peak_above(lambda: sweep(case, grid)))
        return
    matrix = matrix_of(electrics)
    print(peak_above(lambda: splu_of(matrix)))


def memory_apart(what: str, blocks: int) -> float:
    """The same, of a process of its own."""
    command = [sys.executable, "-m", "tests.benchmarks.electric_scale", "memory", what, str(blocks)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def measure(blocks: int, with_spice: bool) -> None:
    text = layout(blocks, wired=True)
    case = api.loads(text, "yard.toml")
    electrics = Electrics.of(case, case.operations[0])
    _ = electrics.feeding.supply
    runs = 3 if blocks >= 100 else 1
    made = timed(runs, lambda: Electrics(case, case.operations[0]).grid)
    grid = electrics.grid
    ours = timed(runs, lambda: sweep(case, grid))
    matrix = matrix_of(electrics)
    theirs = timed(runs, lambda: splu_of(matrix))
    nodes = matrix.shape[0]
    print(f"{blocks} blocks, {nodes} nodes, {nodes / len(case.blocks):.0f} a block")
    print(
        f"   grid {made:.3f} s; operating point and shorts {ours:.3f} s, splu {theirs:.3f} s: {ours / theirs:.2f} of it"
    )
    ours_mb, theirs_mb = (memory_apart(what, blocks) for what in ("sweep", "splu"))
    print(f"   in {ours_mb:.0f} MB, splu in {theirs_mb:.0f} MB: {ours_mb / theirs_mb:.2f} of it")
    if with_spice:
        taken, off = spice(case, electrics)
        print(f"   ngspice {taken:.1f} s: {taken / ours:.0f} times as long; volts differ by {off:.1e} V")
    with tempfile.TemporaryDirectory() as folder:
        file = str(Path(folder) / "big.toml")
        Path(file).write_text(text, "utf-8")
        python = sys.executable
        imports = "import scipy.sparse.csgraph, scipy.sparse.linalg, blockcheck.api, blockcheck.cli.app"
        start, base = seconds([python, "-c", imports], runs), seconds([python, "-c", "import tomllib"], runs)
        load = seconds([python, "-c", LOAD, file], runs) - base
        check = seconds([python, "-c", CHECK, file], runs) - start
        run = subprocess.run([python, "-c", CHECK, file], check=True, capture_output=True, text=True)
        peak = int(run.stderr.split()[-1]) / 1024
    print(f"   check {check:.2f} s is {check / load:.1f} times tomllib.load ({load:.2f} s), peak {peak:.0f} MB")


def main(arguments: list[str]) -> None:
    if arguments[:1] == ["memory"]:
        memory(arguments[1], int(arguments[2]))
        return
    for blocks in [int(one) for one in arguments if one.isdecimal()] or [100, 1000, 10000]:
        measure(blocks, "ngspice" in arguments)


if __name__ == "__main__":
    main(sys.argv[1:])
