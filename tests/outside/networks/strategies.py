"""Random networks: connected or not, with zero-ohm connections, bridged drops, and loads anywhere."""

from hypothesis import strategies as st

from blockcheck.solver.network import Builder, Network

OHMS = st.sampled_from([0.0, 0.02, 0.05, 0.3, 1.0, 5.0, 10_000.0])
VOLTS = st.sampled_from([9.0, 12.0, 15.0])
DROP_VOLTS = st.sampled_from([0.0, 0.4, 0.7, 1.4])


@st.composite
def networks(draw: st.DrawFn, *, nodes: int = 9, drops: int = 5, sinks: int = 4, sleepy: bool = True) -> Network:
    """A tree of conductors and drops over most nodes, some more of both, a source or two, and loads."""
    count = draw(st.integers(2, nodes))
    builder = Builder(count)
    node = st.integers(0, count - 1)
    left = drops
    for child in range(1, count):
        parent = draw(st.integers(0, child - 1))
        kind = draw(st.sampled_from("rrrddx"))
        if kind == "r":
            builder.resistor(parent, child, draw(OHMS))
        elif kind == "d" and left:
            left -= 1
            builder.drop(parent, child, draw(DROP_VOLTS), draw(st.sampled_from([0.0, 0.1])))
    for _ in range(draw(st.integers(0, count))):
        builder.resistor(draw(node), draw(node), draw(OHMS))
    for _ in range(draw(st.integers(0, left))):
        builder.drop(draw(node), draw(node), draw(DROP_VOLTS), draw(st.sampled_from([0.0, 0.1])))
    for _ in range(draw(st.integers(0, 2))):
        builder.source(draw(node), draw(node), draw(VOLTS), draw(st.sampled_from([0.05, 0.2])))
    for _ in range(draw(st.integers(0, sinks))):
        least = draw(st.sampled_from([None, 7.0])) if sleepy else None
        amperes = draw(st.sampled_from([0.001, 0.1, 0.5, 2.0]))
        builder.sink(draw(node), draw(node), amperes, least, draw(st.sampled_from([0.0, 0.01])))
    return builder.build()


@st.composite
def grids(draw: st.DrawFn) -> Network:
    """Connected resistors alone, all above nought."""
    count = draw(st.integers(2, 12))
    builder = Builder(count)
    ohms = st.floats(0.01, 100)
    for child in range(1, count):
        builder.resistor(draw(st.integers(0, child - 1)), child, draw(ohms))
    for _ in range(draw(st.integers(0, 2 * count))):
        a, b = draw(st.integers(0, count - 1)), draw(st.integers(0, count - 1))
        if a != b:
            builder.resistor(a, b, draw(ohms))
    return builder.build()
