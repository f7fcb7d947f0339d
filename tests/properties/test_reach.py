"""Reachability over all states: our decision equals brute force, and a witness really connects."""

from __future__ import annotations

from itertools import product

import networkx
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.circuit.parts import Circuit, Control, Edge, Kind
from blockcheck.circuit.reach import Never, Question, Route, Witness

PLACES = {"isolator": ("closed", "open"), "changeover": ("a", "b", "off"), "points": ("through", "diverging")}


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """Contact graphs with ganged contacts and controls that exclude each other: interlocks whose answer is never."""
    nodes = draw(st.integers(3, 9))
    kinds = draw(st.lists(st.sampled_from(sorted(PLACES)), min_size=1, max_size=5))
    controls = {f"c{i}": Control(f"c{i}", PLACES[kind], PLACES[kind][0], ("x",), kind) for i, kind in enumerate(kinds)}
    edges = []
    for number in range(draw(st.integers(nodes, 2 * nodes + 4))):
        a, b = draw(st.integers(0, nodes - 1)), draw(st.integers(0, nodes - 1))
        control = draw(st.sampled_from([None, *controls, *controls]))
        if a == b:
            continue
        if control is None:
            kind = draw(st.sampled_from([Kind.BUS, Kind.BUS, Kind.HOLD]))
            edges.append(Edge(a, b, kind, ("edge", number)))
        else:
            places = ("closed",) if controls[control].kind == "isolator" else controls[control].positions[:2]
            edges.append(Edge(a, b, Kind.POLE, ("edge", number), "", control, draw(st.sampled_from(places))))
    empty: dict[str, int] = {}
    labels = tuple(map(str, range(nodes)))
    return Circuit(labels, tuple(edges), controls, empty, empty, empty, empty, empty, empty, empty, empty)


def connects(circuit: Circuit, state: dict[str, str], routes: list[tuple[int, int]], held: bool) -> bool:
    graph: networkx.Graph[int] = networkx.Graph()
    graph.add_nodes_from(range(len(circuit.labels)))
    for edge in circuit.edges:
        stands = edge.control is None or state[edge.control] == edge.position
        if held if edge.kind is Kind.HOLD else stands:
            graph.add_edge(edge.a, edge.b)
    return all(networkx.has_path(graph, start, goal) for start, goal in routes)


@given(circuits(), st.data())
def test_the_decision_equals_brute_force(circuit: Circuit, data: st.DataObject) -> None:
    node = st.integers(0, len(circuit.labels) - 1)
    ends = data.draw(st.lists(st.tuples(node, node), min_size=1, max_size=2))
    held = data.draw(st.booleans())
    fixed = {
        name: data.draw(st.sampled_from(circuit.controls[name].positions))
        for name in data.draw(st.sets(st.sampled_from(sorted(circuit.controls)), max_size=2))
    }
    routes = [Route(frozenset({start}), frozenset({goal})) for start, goal in ends]
    answer = Question(circuit, routes, fixed, held=held).answer()
    names = list(circuit.controls)
    states = [
        dict(zip(names, place, strict=True)) for place in product(*(circuit.controls[n].positions for n in names))
    ]
    able = [state for state in states if fixed.items() <= state.items() and connects(circuit, state, ends, held)]
    assert isinstance(answer, Witness if able else Never)
    if isinstance(answer, Witness):
        told = [state for state in states if answer.state.items() <= state.items()]
        assert all(connects(circuit, state, ends, held) for state in told)
        for (start, goal), path, nodes in zip(ends, answer.paths, answer.nodes, strict=True):
            assert (nodes[0], nodes[-1]) == (start, goal)
            for number, one, two in zip(path, nodes[:-1], nodes[1:], strict=True):
                edge = circuit.edges[number]
                assert {edge.a, edge.b} == {one, two}
                assert edge.control is None or answer.state[edge.control] == edge.position


@given(circuits(), st.data())
def test_a_question_that_is_asked_again_is_answered_the_same(circuit: Circuit, data: st.DataObject) -> None:
    """From the second time on what is near the goals is looked at first."""
    nodes = st.integers(0, len(circuit.labels) - 1)
    route = Route(frozenset({data.draw(nodes)}), frozenset(data.draw(st.sets(nodes, min_size=1, max_size=2))))
    shut, taken = frozenset(data.draw(st.sets(nodes, max_size=1))), data.draw(st.sets(st.integers(0, 20), max_size=3))
    question = Question(circuit, [route], without=taken.__contains__, shut=shut)
    first, again = question._search(route), question._search(route)
    assert circuit.far(route.goals)
    assert first == again


def test_the_solver_is_asked_and_says_never() -> None:
    """Two contacts of one control in two positions, with a detour that puts another control in between."""
    controls = {name: Control(name, PLACES["points"], "through", ("x",), "points") for name in ("w", "v")}
    chain = [("w", "through"), ("v", "through"), ("w", "diverging")]
    edges = tuple(Edge(i, i + 1, Kind.POINTS, ("edge", i), "", *place) for i, place in enumerate(chain))
    empty: dict[str, int] = {}
    circuit = Circuit(("0", "1", "2", "3"), edges, controls, empty, empty, empty, empty, empty, empty, empty, empty)
    question = Question(circuit, [Route(frozenset({0}), frozenset({3}))])
    assert question._search(question.routes[0]) is not None
    assert isinstance(question.answer(), Never)
