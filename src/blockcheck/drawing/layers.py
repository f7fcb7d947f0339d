"""What may be shown on the track: where trains stand, where drops come up to the rails, where boards hang."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from attrs import frozen

from blockcheck.analysis.power.loads import middle_of
from blockcheck.circuit.ladder import drop_places
from blockcheck.core.errors import CallError
from blockcheck.drawing.standing import Standing
from blockcheck.model.operate import train_length

LAYERS = {
    "districts": "the districts, as bands behind the track",
    "trains": "trains where they stand, as long as they are against their block",
    "drops": "the places where drops come up to the rails",
    "boards": "the boards, each near the middle of its blocks, with the place where it hangs",
}
SHOWN = ("districts", "trains")
"""What is shown where nothing is asked for."""


@frozen
class Bar:
    """A train on a block, from one share of its length to another."""

    train: str
    start: float
    end: float


def asked(show: str | None) -> tuple[str, ...]:
    """Layers by their names, with commas between; ``none`` for no layer. Raises CallError for a name that is none."""
    if show is None:
        return SHOWN
    names = [one.strip() for one in show.split(",") if one.strip()]
    if names == ["none"]:
        return ()
    for name in names:
        if name not in LAYERS:
            raise CallError(f'there is no layer "{name}"', f"write some of {', '.join(LAYERS)}; or none")
    return tuple(names)


def bars(standing: Standing) -> tuple[Mapping[str, tuple[Bar, ...]], tuple[str, ...]]:
    """Block -> the trains on it; and those, in words, of which a length is not known."""
    study, found, lacking = standing.study, dict[str, tuple[Bar, ...]](), list[str]()
    for one in standing.operation.trains:
        whole, (length, _) = study.layout.blocks[one.block].length_m, train_length(study.layout, one.train)
        if not whole or length is None:
            lacking.append(f"{one.train} in {one.block}")
            continue
        middle = middle_of(study, one)
        ends = [min(max((middle + side * length / 2) / whole, 0.0), 1.0) for side in (-1, 1)]
        found[one.block] = (*found.get(one.block, ()), Bar(one.train, *ends))
    return found, tuple(lacking)


def drops(standing: Standing, blocks: Collection[str]) -> Mapping[str, tuple[float, ...]]:
    """Block -> the places of its drops, as shares of its length; none where data lack."""
    study, found = standing.study, dict[str, tuple[float, ...]]()
    for block in blocks:
        own = study.layout.blocks[block]
        harness = study.layout.harnesses.get(own.harness) if own.harness is not None else None
        if own.length_m and harness is not None and own.fed_through is None and own.unpowered is None:
            found[block] = tuple(at_m / own.length_m for at_m in drop_places(own, harness) or ())
    return found
