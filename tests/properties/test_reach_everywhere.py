"""Whether current can get there: the decision against a look at every state, on circuits that no layout would make."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import networkx as nx
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from blockcheck.circuit import reach
from blockcheck.circuit.parts import CLOSED, OPEN, Circuit, Control, Edge, Kind
from blockcheck.circuit.reach import Answer, Question, Route, Undecided, Witness
from blockcheck.circuit.state import conducts
from blockcheck.model.interlocks import Bar
from tests.properties.everywhere import Everywhere, everything

MOST_STATES = 20_000
KINDS = ["changeover", "points", "changeover", "isolator"]
PLACES = {"isolator": (CLOSED, OPEN), "points": ("through", "diverging"), "changeover": ("east", "west", "off")}


def circuit_of(nodes: int, controls: Iterable[Control], edges: Iterable[Edge], bars: Iterable[Bar] = ()) -> Circuit:
    """Nothing but contacts, and what interlocks keep out."""
    named = {control.name: control for control in controls}
    return Circuit(("",) * nodes, tuple(edges), named, {}, {}, {}, {}, {}, {}, {}, {}, tuple(bars))


@st.composite
def bars_of(draw: st.DrawFn, controls: Sequence[Control], least: int = 0) -> list[Bar]:
    """A few interlocks: positions of which at most one holds, or not all at once. They may leave no state at all."""
    every = [(control.name, place) for control in controls for place in control.positions]
    if not every or (not least and draw(st.integers(0, 2)) > 0):
        return []
    holds = st.lists(st.sampled_from(every), min_size=1, max_size=4, unique_by=lambda one: one[0]).map(tuple)
    found: list[tuple[tuple[str, str], ...]] = draw(st.lists(holds, min_size=least, max_size=4))
    return [Bar(one, draw(st.sampled_from([1, len(one) - 1])), number) for number, one in enumerate(found)]


@st.composite
def circuits(draw: st.DrawFn) -> Circuit:
    """A graph of contacts: few nodes, so that paths cross, and controls with several contacts each."""
    most: int = draw(st.sampled_from([2, 4, 6, 12]))
    kinds: list[str] = draw(st.lists(st.sampled_from(KINDS), max_size=most))
    controls: list[Control] = []
    states = 1
    for number, kind in enumerate(kinds):
        places = PLACES[kind]
        if kind == "changeover" and draw(st.booleans()):
            places = places[:2]
        states *= len(places)
        if states <= MOST_STATES:
            controls.append(Control(f"C{number}", places, places[0], ("controls", number), kind))
    nodes = draw(st.integers(2, 9))
    node = st.integers(0, nodes - 1)
    wires = st.sampled_from([Kind.BUS, Kind.BUS, Kind.HOLD])
    contacts: list[tuple[str, str]] = [
        (control.name, place)
        for control in controls
        for place in (control.positions[:1] if control.kind == "isolator" else control.positions)
    ]
    edges = []
    for number in range(draw(st.integers(1, 24))):
        ends = draw(node), draw(node)
        path = ("edges", number // 2)
        if contacts and draw(st.integers(0, 3)) > 0:
            control, place = draw(st.sampled_from(contacts))
            edges.append(Edge(*ends, Kind.POLE, path, "", control, place))
        else:
            edges.append(Edge(*ends, draw(wires), path))
    return circuit_of(nodes, controls, edges, draw(bars_of(controls)))


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """Anything that may be asked of such a circuit."""
    circuit = draw(circuits())
    node = st.integers(0, len(circuit.labels) - 1)
    ends = st.frozensets(node, min_size=1, max_size=draw(st.sampled_from([1, 1, 2])))
    routes = draw(st.lists(st.builds(Route, ends, ends), min_size=1, max_size=3))
    fixed = {}
    for control in circuit.controls.values():
        if draw(st.integers(0, 7)) == 7:
            fixed[control.name] = draw(st.sampled_from(control.positions))
    number = st.integers(0, len(circuit.edges) - 1)
    seldom = st.sampled_from([0, 0, 2])
    without = draw(st.frozensets(number, max_size=draw(seldom)))
    mended = {circuit.edges[one].path for one in draw(st.frozensets(number, max_size=draw(seldom)))}
    return Question(
        circuit,
        routes,
        fixed,
        without.__contains__ if without else None,
        draw(st.frozensets(node, max_size=draw(seldom))),
        draw(st.booleans()),
        frozenset(mended),
    )


def allowed(question: Question, number: int) -> bool:
    """Whether the question lets a path use an edge, whatever its control does."""
    edge = question.circuit.edges[number]
    if edge.kind is Kind.HOLD and not question.held:
        return False
    return edge.path not in question.mended and not (question.without is not None and question.without(number))


def states_with_all(question: Question) -> tuple[Everywhere, int]:
    """The states in which every route exists."""
    world = Everywhere(question.circuit)
    found = world.standing(question.fixed)
    for route in question.routes:
        reached = world.flood(route.starts, lambda number, _: allowed(question, number), question.shut)
        here = 0
        for goal in route.goals:
            here |= reached[goal]
        found &= here
    return world, found


def verify(question: Question, answer: Witness) -> None:
    """A witness holds: its paths run edge by edge, in its state, from a start to a goal."""
    circuit, state = question.circuit, answer.state
    assert {name: state.get(name) for name in question.fixed} == dict(question.fixed)
    assert len(answer.paths) == len(answer.nodes) == len(question.routes)
    passed = set(question.fixed)
    for route, path, nodes in zip(question.routes, answer.paths, answer.nodes, strict=True):
        assert nodes[0] in route.starts
        assert nodes[-1] in route.goals
        assert len({*nodes}) == len(nodes) == len(path) + 1
        assert not question.shut & {*nodes}
        for number, here, there in zip(path, nodes, nodes[1:], strict=False):
            edge = circuit.edges[number]
            assert {edge.a, edge.b} == {here, there}
            assert allowed(question, number)
            assert edge.control is None or state[edge.control] == edge.position
            passed.add(edge.control or "")
    assert state.keys() <= passed | circuit.interlocked
    whole = {**circuit.usual, **state}  # everything else as usual, and no interlock keeps it out
    assert not any(sum(whole[name] == place for name, place in bar.holds) > bar.most for bar in circuit.bars)


def agree(question: Question) -> Answer:
    answer = question.answer()
    _, states = states_with_all(question)
    assert not isinstance(answer, Undecided)
    assert isinstance(answer, Witness) == bool(states)
    if isinstance(answer, Witness):
        verify(question, answer)
    return answer


class Uses:
    """Counts how often the SAT stage is gone to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.count = 0
        plain = reach._Exact.answer

        def counted(exact: reach._Exact) -> Answer:
            self.count += 1
            return plain(exact)

        monkeypatch.setattr(reach._Exact, "answer", counted)


def test_answers_agree_with_a_look_at_every_state(monkeypatch: pytest.MonkeyPatch) -> None:
    uses, came_out = Uses(monkeypatch), Counter[tuple[str, bool, bool]]()

    @given(questions())
    def look(question: Question) -> None:
        before = uses.count
        answer = agree(question)
        key = (type(answer).__name__, uses.count > before, len(question.routes) > 1)
        came_out[key] += 1
        event(f"{key[0]}{' by SAT' if key[1] else ''}{', several routes' if key[2] else ''}")

    look()
    for name in ("Witness", "Never"):  # each comes out, for one route and for several
        assert came_out[name, False, False], came_out
        assert came_out[name, False, True], came_out


@st.composite
def interlocks(draw: st.DrawFn, kinds: Sequence[str] = KINDS[:2], barred: bool = False) -> Question:
    """Long ladders whose rungs want positions that exclude one another further down: what only SAT can settle."""
    count = draw(st.integers(2, 6))
    controls = [
        Control(f"C{number}", PLACES[kind], PLACES[kind][0], ("controls", number), kind)
        for number, kind in enumerate(draw(st.lists(st.sampled_from(kinds), min_size=count, max_size=count)))
    ]
    steps = draw(st.integers(3, 9))
    edges: list[Edge] = []
    for step in range(steps):
        for _ in range(draw(st.sampled_from([1, 1, 2]))):
            control = draw(st.sampled_from(controls))
            path = ("edges", len(edges))
            places = control.positions[:1] if control.kind == "isolator" else control.positions
            edges.append(Edge(step, step + 1, Kind.THROW, path, "", control.name, draw(st.sampled_from(places))))
    circuit = circuit_of(steps + 1, controls, edges, draw(bars_of(controls, 1)) if barred else ())
    routes = [Route(frozenset({0}), frozenset({steps}))]
    if draw(st.booleans()):
        routes.append(Route(frozenset({draw(st.integers(0, steps))}), frozenset({draw(st.integers(0, steps))})))
    return Question(circuit, routes)


def test_interlocked_ladders(monkeypatch: pytest.MonkeyPatch) -> None:
    uses, came_out = Uses(monkeypatch), Counter[tuple[str, bool, bool]]()

    @settings(max_examples=max(100, settings().max_examples))  # so many that each way comes out
    @given(interlocks())
    def look(question: Question) -> None:
        before = uses.count
        answer = agree(question)
        came_out[type(answer).__name__, uses.count > before, len(question.routes) > 1] += 1
        event(f"{type(answer).__name__}{' by SAT' if uses.count > before else ''}")

    look()
    for name in ("Witness", "Never"):
        for several in (False, True):
            assert came_out[name, True, several], came_out


def test_what_interlocks_keep_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ladders of isolators too, of which one hinders the other: the usual state may be one that is kept out."""
    uses, came_out = Uses(monkeypatch), Counter[tuple[str, bool]]()

    @given(interlocks(["isolator", "isolator", "changeover"], barred=True))
    def look(question: Question) -> None:
        before = uses.count
        answer = agree(question)
        came_out[type(answer).__name__, uses.count > before] += 1

    look()
    assert {("Witness", False), ("Never", False), ("Never", True)} <= came_out.keys(), came_out


@given(circuits(), st.booleans())
def test_the_look_at_every_state_is_right(circuit: Circuit, held: bool) -> None:
    """The brute force itself against a plain graph of each of its states."""
    world = Everywhere(circuit)
    reached = world.flood([0], everything) if held else world.flood([0])
    for number in {0, len(world.states) - 1, *range(0, len(world.states), len(world.states) // 16 + 1)}:
        state = world.states[number]
        graph: nx.MultiGraph[int] = nx.MultiGraph()
        graph.add_nodes_from(range(len(circuit.labels)))
        graph.add_edges_from(
            (edge.a, edge.b) for edge in circuit.edges if conducts(edge, state) or (held and edge.kind is Kind.HOLD)
        )
        here = nx.node_connected_component(graph, 0)
        there = {node for node, states in enumerate(reached) if states >> number & 1}
        if not world.every >> number & 1:
            assert not there
            continue
        assert here == there
        assert all(world.standing({name: place}) >> number & 1 for name, place in state.items())
