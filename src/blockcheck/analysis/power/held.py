"""What a track that has voltage through a hold resistor only keeps awake: read off the solved network."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.circuit.state import TRICKLE
from blockcheck.model.datum import datum
from blockcheck.model.operate import vehicles


class Held(NamedTuple):
    """What stays awake, by name; ``needs`` lists the data without which that is not known."""

    awake: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


def held(electrics: Electrics, block: str) -> Held:
    """What a block keeps awake through a hold resistor: of the trains that stand there those that are awake; where none
    stands there, the locomotives that one alone would be. Nothing of any other block, and nothing under dc.

    Without data of its wires they are taken as without resistance: what sleeps then sleeps, and of what does not it is
    not known.
    """
    study = electrics.study
    if electrics.feeding.now.power(block) != TRICKLE or study.layout.about.control != "dcc":
        return Held()
    names = tuple(_standing(electrics, block) if block in electrics.feeding.standing else _alone(electrics, block))
    if names and block in electrics.lacking:
        return Held(needs=electrics.lacking[block])
    return Held(names, () if names else tuple(dict.fromkeys(_unknown(electrics, block))))


def _standing(electrics: Electrics, block: str) -> Iterator[str]:
    return (one.train for one in electrics.feeding.standing[block] if one.train in electrics.settled_loads.awake_trains)


def _alone(electrics: Electrics, block: str) -> Iterator[str]:
    least = electrics.study.layout.least_voltage_v or 0.0
    for load in vehicles(electrics.study.wiring):
        if load.locomotive and load.idle_a is not None and electrics.highest_voltage(block, load.idle_a) >= least:
            yield load.name


def _unknown(electrics: Electrics, block: str) -> Iterator[str]:
    """The currents that are not known of the locomotives that might be awake."""
    layout = electrics.study.layout
    standing = electrics.feeding.standing.get(block, ())
    for one in standing:
        for name in layout.trains[one.train].vehicles:
            load = layout.loads.get(name)
            if load is not None and load.locomotive and load.current_a(one.state) is None:
                yield datum("loads", name, one.state)
    for load in vehicles(electrics.study.wiring) if not standing else ():
        if load.locomotive and load.idle_a is None:
            yield datum("loads", load.name, "idle")
