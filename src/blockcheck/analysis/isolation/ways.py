"""Where current gets that it should not: round a detector, from one district to another, through a frog."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Answer, Never, Question, Route, Undecided, Witness
from blockcheck.core.pieces import pieces
from blockcheck.core.spans import Path


class Stray(NamedTuple):
    """A way that current takes and should not: the part to mend, the state, and the path by names."""

    culprit: Path | None
    state: dict[str, str]
    way: tuple[str, ...]
    through: tuple[str, ...]
    """The channels on the way."""
    rail: str


def round_detector(study: Study, block: str) -> Iterator[Stray | Undecided]:
    """Every way by which current reaches a block but through its own channel, one for each part at fault.

    Of a block without a channel, those that matter: through somebody else's.
    """
    circuit = study.circuit
    if block in study.always(_sealed):
        return
    mine = [circuit.edges[number] for number in circuit.around[circuit.channels[block]]]
    detectors = [circuit.detecting[edge.a, edge.part] for edge in mine if edge.kind is Kind.DETECTOR]
    own = frozenset[int]().union(*detectors)  # one detector, also where other blocks share it
    route = Route(frozenset({circuit.detected[block]}), frozenset(circuit.hot.values()))
    yield from _strays(study, route, own.__contains__, frozenset(), "detected", reverse=True)


def _sealed(study: Study) -> frozenset[str]:
    """The blocks of which a look at all of them at once proves that there is no such way in any state.

    With the detectors taken out the circuit falls into pieces. No way leads round the own detector of a block whose
    piece has no booster in it, and no other detector at its rim; nor through somebody else's, where all those at the
    rim of its piece lead to where neither a booster nor another detector is.
    """
    circuit = study.circuit
    plain = ((edge.a, edge.b) for edge in circuit.edges if edge.kind not in (Kind.DETECTOR, Kind.HOLD))
    piece = pieces(len(circuit.labels), plain)
    lit = {piece[node] for node in circuit.hot.values()}
    rim = defaultdict[int, set[tuple[tuple[int, str], int]]](set)
    """Piece -> the detectors that end in it, each with the piece on its other side."""
    for edge in circuit.edges:
        if edge.kind is Kind.DETECTOR:
            here, there = piece[edge.a], piece[edge.b]
            rim[here].add(((edge.a, edge.part), there))
            rim[there].add(((edge.a, edge.part), here))
    only = {here: {one for one, _ in some} for here, some in rim.items()}

    def nowhere(here: int) -> bool:
        """Whether every detector at the rim of a piece leads nowhere."""
        return all(there not in {here, *lit} and only[there] == {one} for one, there in rim.get(here, ()))

    leads = {here: not nowhere(here) for here in {piece[node] for node in circuit.detected.values()}}
    return frozenset(
        block
        for block, node in circuit.detected.items()
        if not (
            leads[piece[node]]
            if study.wiring.fed[block].channel is None
            else piece[node] in lit or piece[node] != piece[circuit.channels[block]] or len(only[piece[node]]) != 1
        )
    )


def between_districts(study: Study, district: str) -> Iterator[Stray | Undecided]:
    """Every way from a district's feed terminal to another's, and from its return to one that is separate."""
    circuit = study.circuit
    feeds = frozenset(node for name, node in circuit.feeds.items() if name != district)
    supply = frozenset((*circuit.hot.values(), *circuit.back.values()))
    route = Route(frozenset({circuit.feeds[district]}), feeds)
    for stray in _strays(study, route, None, supply, "detected", {name: name for name in circuit.feeds}):
        yield stray
        if isinstance(stray, Stray) and stray.culprit is not None:  # it may join the returns too: one cause
            study = study.mending(frozenset({stray.culprit}))
    mine = circuit.returns[district]
    group = circuit.return_of
    separate = frozenset(node for name, node in circuit.returns.items() if group[name] != group[district])
    if separate:
        hot = frozenset(circuit.hot.values())
        yield from _strays(study, Route(frozenset({mine}), separate), circuit.turned.__contains__, hot, "common", group)


def _strays(
    study: Study,
    route: Route,
    without: Callable[[int], bool] | None,
    shut: frozenset[int],
    rail: str,
    groups: Mapping[str, str] | None = None,
    reverse: bool = False,
) -> Iterator[Stray | Undecided]:
    """Find a way, name the part at fault, judge it mended, and look again, until there is none."""
    circuit = study.circuit
    if not route.goals:
        return
    while True:
        question = Question(circuit, [route], {}, without, shut, mended=study.mended)
        answer: Answer = question.answer()
        if isinstance(answer, Never):
            return
        if isinstance(answer, Undecided):
            yield answer
            return
        culprit = _culprit(study, answer, groups or {})
        passed = [circuit.edges[number] for number in answer.paths[0]]
        through = tuple(edge.part for edge in passed if edge.kind is Kind.DETECTOR)
        way = hops(circuit, answer, 0, reverse)
        yield Stray(culprit, dict(answer.state), way, through[::-1] if reverse else through, rail)
        if culprit is None:
            return
        study = study.mending(frozenset({culprit}))


def _culprit(study: Study, witness: Witness, groups: Mapping[str, str]) -> Path | None:
    """The part to mend on a stray way: the joint of two groups of districts, else the first joint, else the first frog.

    Where there is none of these, the second of two changeovers that feed the same bank.
    """
    circuit, wiring = study.circuit, study.wiring
    passed = [circuit.edges[number] for number in witness.paths[0]]
    joints = [edge for edge in passed if edge.kind is Kind.JOINT]
    for edge in joints:
        homes = (wiring.fed[circuit.block_of[node]].district for node in (edge.a, edge.b))
        if len({groups.get(str(home)) for home in homes}) > 1:
            return edge.path
    if joints:
        return joints[0].path
    frogs = [edge for edge in passed if edge.kind is Kind.FROG]
    throws = [edge for edge in passed if edge.kind is Kind.THROW]
    return frogs[0].path if frogs else throws[-1].path if len(throws) > 1 else None
