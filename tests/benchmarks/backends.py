"""Times the plain back end against SuperLU: `python -m tests.benchmarks.backends [BLOCKS ...]`.

Prints, asserts nothing.
"""

import sys
from collections.abc import Callable
from functools import partial
from statistics import median
from time import perf_counter

from blockcheck.solver.network import Builder, Network
from blockcheck.solver.solve import operating_point
from blockcheck.solver.sparse import PlainFactor
from blockcheck.solver.superlu import SuperFactor
from tests.outside.networks.layouts import yard


def trackwork(blocks: int) -> Network:
    """The generated yard of the reduction, 38 nodes a block, with a drop of 0.7 V to every block and a load in it."""
    made = yard(blocks)
    shape, ports = made.bucket.shape, made.bucket.ports
    districts = -(-blocks // 100)
    builder = Builder(made.core_nodes)
    for k, (a, b, g) in enumerate(zip(made.a.tolist(), made.b.tolist(), made.siemens.tolist(), strict=True)):
        if k < districts:
            builder.source(a, b, 18.0, 1 / g)
        else:
            builder.resistor(a, b, 1 / g)
    for piece in range(blocks):
        nodes = [*(builder.node() for _ in range(shape.nodes)), *ports[:, piece].tolist()]
        for k, (a, b) in enumerate(zip(shape.a, shape.b, strict=True)):
            ohms = 1 / float(made.bucket.siemens[k, piece])
            if k == 0:
                builder.drop(nodes[b], nodes[a], 0.7, ohms)
            else:
                builder.resistor(nodes[a], nodes[b], ohms)
        builder.sink(nodes[18], nodes[19], 0.02, 7.0)
    return builder.build()


def mesh(nodes: int) -> Network:
    side = round(nodes**0.5)
    builder = Builder(side * side)
    for node in range(side * side):
        if (node + 1) % side:
            builder.resistor(node, node + 1, 1.0)
        if node + side < side * side:
            builder.resistor(node, node + side, 1.0)
    return builder.build()


def milliseconds(times: int, work: Callable[[], object]) -> float:
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return 1000 * median(taken)


def measure(name: str, network: Network) -> None:
    resistors, drops = network.resistors, network.drops
    nodes, a, b = network.nodes, [*resistors.a, *drops.a], [*resistors.b, *drops.b]
    siemens = [*(1 / r for r in resistors.ohms), *(50.0 for _ in drops.a)]
    plain, large = PlainFactor(nodes, a, b, siemens), SuperFactor(nodes, a, b, siemens)
    current = [0.0] * nodes
    current[0], current[-1] = 1.0, -1.0
    near = [(k, k + 1) for k in range(nodes - 1)]
    times = 7 if nodes < 5_000 else 3
    figures = (
        milliseconds(times, lambda: PlainFactor(nodes, a, b, siemens)),
        milliseconds(times, lambda: SuperFactor(nodes, a, b, siemens)),
        milliseconds(times, lambda: plain.solve(current)),
        milliseconds(times, lambda: large.solve(current)),
        milliseconds(times, lambda: PlainFactor(nodes, a, b, siemens, near).inverse(near)),
    )
    print(f"{name:>10} {nodes:>7}", *(f"{figure:11.2f}" for figure in figures))


def main(sizes: list[int]) -> None:
    print("medians in ms; importing scipy is not in them")
    heads = ("plain", "splu", "plain solve", "splu solve", "inverse")
    print(f"{'network':>10} {'nodes':>7}", *(f"{head:>11}" for head in heads))
    for blocks in sizes or (2, 52, 249):
        measure("trackwork", trackwork(blocks))
    for nodes in [38 * blocks for blocks in sizes] or (100, 2_000):
        measure("mesh", mesh(nodes))
    for blocks in sizes or (2, 52, 249, 2_490):
        network = trackwork(blocks)
        for limit, name in ((10**9, "plain"), (0, "splu")):
            taken = milliseconds(3, partial(operating_point, network, plain_up_to=limit))
            print(f"operating point of {network.nodes} nodes, {name}: {taken:.0f} ms")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]])
