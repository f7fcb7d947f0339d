"""What findings are about beside the parts at fault: a rule has nothing to add to what an earlier one claimed."""

from __future__ import annotations

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.state import State
from blockcheck.core.findings import Claim


@frozen
class Isolates(Claim):
    """What an isolator does to a block."""

    isolator: str
    block: str


@frozen
class Shared(Claim):
    """One channel, pole or harness for what ends at several blocks."""

    part: str
    blocks: tuple[str, ...] = field(converter=tuple[str, ...])


@frozen
class Loaded(Claim):
    """What a district carries, in a scenario or as usual (None)."""

    district: str
    scenario: str | None


@frozen
class Reads(Claim):
    """What a block reads, in a scenario or as usual (None)."""

    block: str
    scenario: str | None


@frozen
class Starved(Claim):
    """Too few volts in a block."""

    block: str


@frozen
class Unseen(Claim):
    """A vehicle that draws too little for the channel of a block."""

    block: str


@frozen
class TooLong(Claim):
    """A train that is longer than its block."""

    train: str
    block: str


def told_of(study: Study, block: str, state: State) -> bool:
    """Whether what an open isolator does to a block is the subject of an earlier finding: what follows is no news."""
    return any(
        isinstance(claim, Isolates) and claim.block == block and state.get(claim.isolator) in ("open", "off")
        for claim in study.claims
    )
