"""Can current get there? Decided exactly over all states, with a witness state and path.

A route asks for a path of conductors from one set of nodes to another; a question may ask for several routes in the
same state. A path exists in some state exactly when the contacts along it want every control in one position only.

1. A breadth-first search that takes every contact as conducting, but never two positions of one control in a row,
   finds more than is there: where it fails, the answer is *never*. Frogs and changeovers that could only be passed in
   two positions at once stop it, which settles nearly every question of a real layout.
2. Where the paths that it finds agree on every control, they are the witness.
3. Else the question is put to a SAT solver: a contact on a path implies its control's position; the ends of a path
   have degree one, other nodes none or two. That is exact; beyond a budget of conflicts the answer is *undecided*.

What interlocks keep out is no state: a witness is one that can be, and the SAT solver is told what cannot.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import NamedTuple

from attrs import field, frozen

from blockcheck.circuit.allowed import MOST_CONFLICTS, NOT_DECIDED, bar, nearest
from blockcheck.circuit.parts import Circuit, Edge, Kind
from blockcheck.core.pieces import pieces
from blockcheck.core.spans import Path

DETOUR = 2
"""So many edges more than the shortest way has a walk that is looked for first: over a joint to the next block's."""


class Route(NamedTuple):
    """A path that is asked for, from any of ``starts`` to any of ``goals``."""

    starts: frozenset[int]
    goals: frozenset[int]


class Witness(NamedTuple):
    """A state in which every route exists, and the routes.

    ``state`` holds the controls that matter: those on the paths, those that the question fixed, and those that an
    interlock keeps from standing as usual then. ``paths`` has the
    edge numbers of each route, in order from its start; ``nodes`` the nodes passed, one more than edges.
    """

    state: Mapping[str, str]
    paths: tuple[tuple[int, ...], ...]
    nodes: tuple[tuple[int, ...], ...]


@frozen(eq=False, repr=False)
class Never:
    """In no state does every route exist."""


@frozen(eq=False, repr=False)
class Undecided:
    """The budget ran out before the question was decided."""


Answer = Witness | Never | Undecided


@frozen(eq=False, repr=False, slots=False)
class Question:
    """What is asked of a circuit: routes that must exist at once.

    ``fixed`` holds controls to positions; ``without`` is a test for the numbers of edges that
    are taken out (as are all hold resistors, unless ``held``); ``shut`` are nodes that no path may pass or end at.
    """

    circuit: Circuit
    routes: Sequence[Route]
    fixed: Mapping[str, str] = field(factory=dict)
    without: Callable[[int], bool] | None = None
    shut: frozenset[int] = frozenset()
    held: bool = False
    mended: frozenset[Path] = frozenset()

    def usable(self, number: int) -> bool:
        """Whether an edge can conduct in any state that the question allows."""
        edge = self.circuit.edges[number]
        if edge.kind is Kind.HOLD and not self.held:
            return False
        if edge.control is not None and self.fixed.get(edge.control, edge.position) != edge.position:
            return False
        if self.mended and edge.path in self.mended:
            return False
        return self.without is None or not self.without(number)

    def answer(self) -> Answer:
        """Decide."""
        walks = []
        for route in self.routes:
            walk = self._search(route)
            if walk is None:
                return Never()
            walks.append(walk)
        witness = self._witness(walks)
        return (self._can_be(witness) if witness is not None else None) or _Exact(self).answer()

    def _can_be(self, witness: Witness) -> Witness | None:
        """The witness in a state that can be, everything else as near to the usual as interlocks let it."""
        circuit = self.circuit
        if not circuit.bars:
            return witness
        whole = nearest(circuit, witness.state)
        if whole is None or whole == NOT_DECIDED:
            return None
        moved = {name: place for name, place in whole.items() if place != circuit.usual[name]}
        return witness._replace(state=dict(sorted({**witness.state, **moved}.items())))

    def _search(self, route: Route) -> list[int] | None:
        """Edges of a shortest walk that wants no two positions of a control in a row, or None.

        First only what may lie on a walk that is hardly longer than any must be is looked at, which is little of a
        board that has many ways on. That finds the same walk as a search of everything, or none.
        """
        starts, far = sorted(route.starts - self.shut), self.circuit.far(route.goals)
        if far and starts:
            least = min(far[start] for start in starts)
            if least > len(self.circuit.edges):
                return None
            walk = self._walk(starts, route.goals - self.shut, far, least + DETOUR)
            if walk is not None:
                return walk
        return self._walk(starts, route.goals - self.shut)

    def _walk(
        self, starts: Sequence[int], goals: Collection[int], far: Sequence[int] = (), most: int = 0
    ) -> list[int] | None:
        """As ``_search``; told how ``far`` the goals are at least, of walks of so many edges at ``most``."""
        edges, around = self.circuit.edges, self.circuit.around
        if not {*starts}.isdisjoint(goals):
            return []
        layer: list[tuple[int, str | None, str | None]] = [(start, None, None) for start in starts]
        came: dict[tuple[int, str | None, str | None], tuple[tuple[int, str | None, str | None], int] | None]
        came = dict.fromkeys(layer)
        while layer:
            most -= 1
            following = []
            for here in layer:
                node, control, position = here
                for number in around[node]:
                    edge = edges[number]
                    after = edge.b if edge.a == node else edge.a
                    if (far and far[after] > most) or after in self.shut or not self.usable(number):
                        continue
                    if edge.control is None:
                        there = (after, control, position)
                    elif edge.control == control and edge.position != position:
                        continue
                    elif self._exclusive(edge.control):
                        there = (after, edge.control, edge.position)
                    else:
                        there = (after, control, position)
                    if there not in came:
                        came[there] = (here, number)
                        if after in goals:  # the first that is come upon is the nearest; a board has many ways on
                            return self._back(came, there)
                        following.append(there)
            layer = following
        return None

    def _exclusive(self, control: str) -> bool:
        return control not in self.fixed and self.circuit.controls[control].kind != "isolator"

    def _hinders(self, control: str) -> bool:
        """Whether a control that stands for one contact may not stand for another, of its own or of an interlock."""
        return self._exclusive(control) or (control not in self.fixed and control in self.circuit.interlocked)

    @staticmethod
    def _back(
        came: Mapping[tuple[int, str | None, str | None], tuple[tuple[int, str | None, str | None], int] | None],
        here: tuple[int, str | None, str | None],
    ) -> list[int]:
        walk: list[int] = []
        step = came[here]
        while step is not None:
            here, number = step
            walk.append(number)
            step = came[here]
        return walk[::-1]

    def _witness(self, walks: Sequence[Sequence[int]]) -> Witness | None:
        state = dict(self.fixed)
        for walk in walks:
            for number in walk:
                edge = self.circuit.edges[number]
                if edge.control is None or edge.position is None:
                    continue
                if state.setdefault(edge.control, edge.position) != edge.position:
                    return None
        simple = [_simple(self.circuit, walk, route, self.shut) for walk, route in zip(walks, self.routes, strict=True)]
        return Witness(
            dict(sorted(state.items())), tuple(path for path, _ in simple), tuple(nodes for _, nodes in simple)
        )


def _simple(
    circuit: Circuit, walk: Sequence[int], route: Route, shut: frozenset[int]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """A walk without its loops: the edges, and the nodes that they pass from the start on."""
    if not walk:
        return (), (min(route.starts & route.goals - shut),)
    first = circuit.edges[walk[0]]
    for start in (first.a, first.b):
        nodes, path = [start], list[int]()
        for number in walk:
            edge = circuit.edges[number]
            if start not in route.starts or nodes[-1] not in (edge.a, edge.b):
                break
            after = edge.b if edge.a == nodes[-1] else edge.a
            path.append(number)
            if after in nodes:
                cut = nodes.index(after)
                del nodes[cut:], path[cut:]
            nodes.append(after)
        else:
            return tuple(path), tuple(nodes)
    raise AssertionError("a walk hangs together")


@frozen(eq=False, repr=False, slots=False)
class _Exact:
    """The question for a SAT solver, on the graph with plain conductors contracted."""

    question: Question

    def answer(self) -> Answer:
        from pysat.solvers import Minicard  # loaded only for the rare question that needs it

        piece = self._contract()
        arcs = self._arcs(piece)
        numbers: dict[tuple[object, ...], int] = {}

        def literal(*key: object) -> int:
            return numbers.setdefault(key, len(numbers) + 1)

        with Minicard() as solver:
            controls = {edge.control for _, edge in arcs}
            for control in sorted(name for name in controls if name is not None):
                choices = [literal("at", control, place) for place in self.question.circuit.controls[control].positions]
                solver.add_atmost(choices, 1)
            if self.question.circuit.bars:
                bar(solver, self.question.circuit, literal)
                for control in self.question.circuit.interlocked & self.question.fixed.keys():
                    solver.add_clause([literal("at", control, self.question.fixed[control])])
            trivial = []
            for index, route in enumerate(self.question.routes):
                starts = {piece[node] for node in route.starts if node not in self.question.shut}
                goals = {piece[node] for node in route.goals if node not in self.question.shut}
                trivial.append(bool(starts & goals))
                if not trivial[-1]:
                    self._route(solver, literal, index, arcs, piece, starts, goals)
            solver.conf_budget(MOST_CONFLICTS)
            solved = solver.solve_limited()
            if solved is None:
                return Undecided()
            if not solved:
                return Never()
            model = set(solver.get_model())
        chosen = [
            set() if easy else {number for number, _ in arcs if numbers.get(("on", index, number)) in model}
            for index, easy in enumerate(trivial)
        ]
        return self._read(chosen)

    def _contract(self) -> list[int]:
        """Pieces that conduct in every state worth looking at: wires, and contacts that nothing speaks against."""
        question, circuit = self.question, self.question.circuit
        joined = [
            (edge.a, edge.b)
            for number, edge in enumerate(circuit.edges)
            if not {edge.a, edge.b} & question.shut
            and question.usable(number)
            and (edge.control is None or not question._hinders(edge.control))
        ]
        return pieces(len(circuit.labels), joined)

    def _arcs(self, piece: list[int]) -> list[tuple[int, Edge]]:
        question = self.question
        return [
            (number, edge)
            for number, edge in enumerate(question.circuit.edges)
            if edge.control is not None
            and question._hinders(edge.control)
            and question.usable(number)
            and not {edge.a, edge.b} & question.shut
            and piece[edge.a] != piece[edge.b]
        ]

    @staticmethod
    def _route(
        solver: object,
        literal: Callable[..., int],
        index: int,
        arcs: Sequence[tuple[int, Edge]],
        piece: Sequence[int],
        starts: Collection[int],
        goals: Collection[int],
    ) -> None:
        """Clauses: the edges that are on form a path from one of the starts to one of the goals."""
        add, atmost = solver.add_clause, solver.add_atmost  # type: ignore[attr-defined]
        at: dict[object, list[int]] = {}
        for number, edge in arcs:
            on = literal("on", index, number)
            add([-on, literal("at", edge.control, edge.position)])
            for end in (edge.a, edge.b):
                where: object = piece[end]
                where = "start" if where in starts else "goal" if where in goals else where
                at.setdefault(where, []).append(on)
        for where, mine in at.items():
            if where in ("start", "goal"):
                atmost(mine, 1)
                continue
            atmost(mine, 2)
            for on in mine:
                add([-on, *(other for other in mine if other != on)])
        for where in ("start", "goal"):
            if where not in at:
                no = literal("no", where)
                add([no])
                add([-no])
            else:
                add(at[where])

    def _read(self, chosen: Sequence[set[int]]) -> Answer:
        """The witness in terms of all edges: wires and free contacts, and the chosen ones."""
        question, walks = self.question, []
        for route, mine in zip(question.routes, chosen, strict=True):
            state = {
                edge.control: edge.position
                for edge in (question.circuit.edges[number] for number in mine)
                if edge.control
            }

            def other(number: int, mine: set[int] = mine) -> bool:
                control = question.circuit.edges[number].control
                if control is not None and question._hinders(control) and number not in mine:
                    return True
                return question.without is not None and question.without(number)

            fixed = {**question.fixed, **{name: place for name, place in state.items() if place is not None}}
            narrowed = Question(question.circuit, [route], fixed, other, question.shut, question.held, question.mended)
            walk = narrowed._search(route)
            assert walk is not None, "a model is a path"
            walks.append(walk)
        witness = question._witness(walks)
        assert witness is not None, "a model agrees on every control"
        return question._can_be(witness) or Undecided()
