"""One layout under study: its wiring, its circuit, its ways of being operated, and what was found out so far."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any, TypeVar, TypeVarTuple

from attrs import evolve, field, frozen

from blockcheck.circuit.compile import compile_circuit
from blockcheck.circuit.parts import Circuit
from blockcheck.circuit.reach import Witness
from blockcheck.circuit.state import Now
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Claim
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.spans import Path
from blockcheck.core.words import cut_short, plural
from blockcheck.model.layout import Layout
from blockcheck.model.operate import Operation, after_opening, after_setting, operations
from blockcheck.model.select import parted, select_isolators
from blockcheck.model.wiring import Wiring

T = TypeVar("T")
Of = TypeVarTuple("Of")


@frozen(eq=False, repr=False, slots=False)
class Study:
    """A layout under study: what ``load`` returns and all questions are asked of.

    ``layout`` is what the files say, ``files`` where they lie, ``operations`` how it stands: as usual, then in each
    scenario. Answers are worked out once and kept. ``mended`` holds the parts that earlier rules found at fault,
    ``claims`` what else their findings are about: one cause, one finding.
    """

    wiring: Wiring
    circuit: Circuit
    operations: tuple[Operation, ...]
    mended: frozenset[Path] = field(default=frozenset())
    claims: frozenset[Claim] = field(default=frozenset())
    _memo: dict[tuple[object, tuple[object, ...], frozenset[Path]], Any] = field(factory=dict, alias="memo", repr=False)

    @classmethod
    def of(cls, wiring: Wiring) -> Study:
        """Compile a layout. Raises InputError where a scenario's selections match nothing."""
        return cls(wiring, compile_circuit(wiring), operations(wiring))

    def __repr__(self) -> str:
        layout = self.layout
        has = {
            "block": layout.blocks,
            "board": layout.boards,
            "isolator": layout.isolators,
            "district": layout.districts,
            "train": layout.trains,
            "scenario": layout.scenarios,
        }
        counts = ", ".join(plural(len(of), word) for word, of in has.items() if of)
        return f"<Study of {layout.about.name} ({self.wiring.document.name}): {counts or 'nothing'}>"

    @property
    def layout(self) -> Layout:
        """The layout."""
        return self.wiring.layout

    @property
    def files(self) -> tuple[FilePath, ...]:
        """The files that it was read from, the first file first."""
        return tuple(file.path for file in self.wiring.document.files if file.path is not None)

    def mending(self, causes: frozenset[Path | Claim]) -> Study:
        """The study with some more parts judged as if they were mended, and some more told of."""
        claims = self.claims.union(one for one in causes if isinstance(one, Claim))
        mended = self.mended.union(one for one in causes if not isinstance(one, Claim))
        return self if (mended, claims) == (self.mended, self.claims) else evolve(self, mended=mended, claims=claims)

    def mended_as(self, other: Study) -> Study:
        """The study with what is mended in another, and told of it, as well."""
        return evolve(self, mended=self.mended | other.mended, claims=self.claims | other.claims)

    def once(self, make: Callable[[Study, *Of], T], *of: *Of) -> T:
        """What a class or a function makes of this circuit as it is mended so far, and of more, worked out once.

        It is kept under ``make`` and ``of`` themselves, never under a text made of them. Of what is mended, the
        conductors alone count: the rest leaves every current as it is.
        """
        key = make, of, self.mended & self.circuit.paths
        if key not in self._memo:
            self._memo[key] = make(self, *of)
        found: T = self._memo[key]
        return found

    def always(self, make: Callable[[Study, *Of], T], *of: *Of) -> T:
        """As ``once``, of the layout as it is written, whatever is mended but a frog's dead short: no current that
        flows through that says anything of the rest."""
        kept = self.mended & self.circuit.frog_shorts
        return (self if kept == self.mended else evolve(self, mended=kept)).once(make, *of)

    def owns(self, operation: Operation) -> bool:
        """Whether an operation is one of its own, so that what it comes to is worth keeping."""
        return any(operation is own for own in self.operations)

    def standing(self, make: Callable[[Study, Operation], T], operation: Operation) -> T:
        """What a class or a function makes of this in an operation: once for each of its own, anew for any other."""
        return self.once(make, operation) if self.owns(operation) else make(self, operation)

    def asked(self, scenario: str | None, tracks: str | None = None) -> Operation:
        """How it stands in a scenario, or as usual (None), with the controls that a selection sets and the isolators of
        what else it names opened on top of that.

        Raises CallError for a scenario or a selection that it does not have, and where none of them has an isolator.
        """
        operation = self.operation(scenario)
        tracks, moved = (None, {}) if tracks is None else parted(self.wiring, tracks)
        if moved:
            operation = after_setting(self.wiring, operation, moved, last=tracks is None)
        if tracks is None:
            return operation
        isolators, without = select_isolators(self.wiring, tracks)
        if not isolators:
            have = "has" if len(without) == 1 else "have"
            raise CallError(f"{cut_short(without, 5)} {have} no isolator", "name tracks that can be isolated")
        return after_opening(self.wiring, operation, isolators)

    def operation(self, scenario: str | None) -> Operation:
        """How it stands in a scenario, or as usual (None). Raises CallError for a scenario that it does not have."""
        for operation in self.operations:
            if operation.scenario == scenario:
                return operation
        names = [operation.scenario for operation in self.operations if operation.scenario is not None]
        help_ = did_you_mean(str(scenario), names) or (
            f"there are {', '.join(names)}" if names else "the layout has no scenarios"
        )
        raise CallError(f'there is no scenario "{scenario}"', help_)

    @cached_property
    def usual(self) -> Now:
        """The circuit as it usually stands."""
        return self.now({})

    def now(self, positions: Mapping[str, str]) -> Now:
        """The circuit with some controls moved from their usual position."""
        known = {name: place for name, place in positions.items() if name in self.circuit.controls}
        return Now(self.circuit, {**self.circuit.usual, **known}, self.mended)

    @cached_property
    def blocks(self) -> tuple[str, ...]:
        """The blocks that could be compiled, in natural order."""
        return tuple(sorted(self.circuit.detected, key=natural_key))


def hops(circuit: Circuit, witness: Witness, route: int, reverse: bool = False) -> tuple[str, ...]:
    """A route by the names that it passes: booster, district, channel, isolators, blocks."""
    names: list[str] = []

    def add(name: str) -> None:
        if name and (not names or names[-1] != name):
            names.append(name)

    edges, nodes = witness.paths[route], witness.nodes[route]
    add(circuit.labels[nodes[0]])
    for number, node in zip(edges, nodes[1:], strict=True):
        add(circuit.edges[number].part)
        add(circuit.labels[node])
    return tuple(reversed(names)) if reverse else tuple(names)
