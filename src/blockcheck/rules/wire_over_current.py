"""No conductor carries more than it may, in service or at the trip current; drops, which are short, in service.

Why: a wire that is too thin for what the breaker lets through is the fuse, and it lies under the scenery.

Mend: take a thicker conductor, or a breaker that trips lower; or write what it may carry, where its maker tells that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import NamedTuple

from blockcheck.analysis.power.at_best import at_best
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.limits import breaker, breaker_line, conductor_limit
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.spans import Path
from blockcheck.model.datum import RUNNING, datum
from blockcheck.model.operate import Operation
from blockcheck.model.quantities import Amperes
from blockcheck.model.tables.panels import panel_of
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, in_scenario, listed
from blockcheck.rules._volts import apart, complete, usual


class _Most(NamedTuple):
    """The most that a conductor has to carry, and why. ``size`` is as written."""

    name: str
    size: str
    amperes: float
    why: str
    lets: tuple[tuple[Path, str], ...] = ()
    """What lets it through, where it is for a fault: lines and what they are."""


def check(study: Study) -> Said:
    """A finding for each conductor of a harness, a feed or a frog whose busiest run carries more than it may."""
    short = set[str | None]()  # harnesses and districts on which a block lacks data
    for item in complete(study, stand=False):
        if isinstance(item, Lacks):
            fed = study.wiring.fed[item.subject]
            short |= {fed.block.harness, fed.district, fed.board.name if fed.board is not None else None}
            yield item
    for path, (most, needs) in _conductors(study).items():
        subject = f"{path[1]} {path[2]}"
        if path[1] not in short:
            yield Judged(subject)
        rating = conductor_limit(study, most.size)
        if rating is None or most.amperes <= rating.amperes:
            if needs:
                yield Lacks(subject, needs)
            continue
        related = [Label(path, words) for path, words in most.lets]
        if most.size in study.layout.wires:
            related.append(Label(("wires", most.size), "the wire"))
        carries, limit = apart(most.amperes, rating.amperes, Amperes)
        yield Finding(
            f"the {most.name} ({most.size}) may have to carry {'at least ' * bool(needs)}{carries} {most.why}, "
            f"and may carry {limit}{' or somewhat more' * rating.bound} by {rating.source}",
            subject=subject,
            at=path,
            measured=most.amperes,
            limit=rating.amperes,
            unit="A",
            related=tuple(related),
            help="take a thicker conductor, or "
            + ("a breaker that trips lower" if most.lets else "draw less through it")
            + "; where its maker allows more, write that as the current of [wires.NAME]" * rating.bound,
        )


def _conductors(study: Study) -> dict[Path, tuple[_Most, tuple[str, ...]]]:
    """Conductor of the layout -> the most that it carries, in service or at the trip current, and what lacks for it."""
    found: dict[Path, tuple[_Most, tuple[str, ...]]] = {}
    for path, name, size, homes in _parts(study):
        if path[-1] == "feeder":
            found[path] = _at_a_drop(study, name, size)
            continue
        needs = tuple(datum("districts", home, "trip") for home in homes if breaker(study, home)[0] is None)
        known = [home for home in homes if breaker(study, home)[0] is not None]
        after = path[0] == "panels" and all(
            study.layout.isolators[pole].contact == "on-off" and study.layout.isolators[pole].side == "after-detector"
            for pole in study.wiring.switched
            if study.layout.isolators[pole].panel == path[1]
        )
        if after or path[-1] == "bus":
            found[path] = _fused(study, path, name, size, known), needs
        else:
            found[path] = (_together if path[-1] == "common" else _alone)(study, name, size, known), needs
    for operation in study.operations:
        for path, most in _in_service(study, operation).items():
            if path in found and most.amperes > found[path][0].amperes:
                found[path] = most, found[path][1]
    return found


def _at_a_drop(study: Study, name: str, size: str) -> tuple[_Most, tuple[str, ...]]:
    """What the heaviest that runs draws through a drop at which it stands, at most, and what lacks for that.

    What a breaker lets through flows in a drop only where the fault is at its own foot.
    """
    probes = [Electrics.of(study, operation).probe for operation in study.operations]
    most = max((probe for probe in probes if probe is not None), key=lambda probe: probe.amperes, default=None)
    if most is None:
        return _Most(name, size, 0.0, ""), (RUNNING,)
    return _Most(name, size, most.amperes, f"where {most.name} stands at one of them"), ()


def _alone(study: Study, name: str, size: str, homes: list[str]) -> _Most:
    """What the breaker that trips last lets through a conductor that one block, or one district, has to itself."""
    trip, home = max(((breaker(study, home)[0] or 0.0, home) for home in homes), default=(0.0, ""))
    lets = ((breaker_line(study, home, "trip"), "the trip current"),) if home else ()
    return _Most(name, size, trip, f"before the breaker of {home} trips", lets)


def _fused(study: Study, path: Path, name: str, size: str, homes: list[str]) -> _Most:
    """Of the buses of a harness, or the wires of a panel: what the breaker lets through, at most, or a fuse where that
    goes first."""
    supply = usual(study).feeding.supply
    found, lets = _Most(name, size, 0.0, ""), _alone(study, name, size, homes)
    for block in study.once(_served)[str(path[0]), str(path[1])]:
        fuse, home = study.wiring.fed[block].fuse, supply[block]
        if home not in homes:
            continue
        one = _alone(study, name, size, [home])
        if fuse is None or fuse[0] >= one.amperes:
            one = lets if one.amperes == lets.amperes else one
        else:
            one = _Most(name, size, fuse[0], f"before the fuse of {block} goes", ((fuse[1], "its rating"),))
        found = max(found, one, key=lambda most: most.amperes)
    return found


def _together(study: Study, name: str, size: str, homes: list[str]) -> _Most:
    """What all breakers together let through a return that their districts share; never more than their boosters do.

    Each may bear a fault of its own just below its trip current, and the currents meet in the return.
    """
    by_booster: dict[str, list[str]] = {}
    for home in homes:
        by_booster.setdefault(str(study.layout.districts[home].booster), []).append(home)
    amperes, names, lets = 0.0, list[str](), list[tuple[Path, str]]()
    for booster, own in by_booster.items():
        trips = sum(breaker(study, home)[0] or 0.0 for home in own)
        most = study.layout.boosters[booster].trip_a
        if len(own) > 1 and most is not None and most < trips * (1 - 1e-9):
            amperes += most
            names.append(booster)
            lets.append((("boosters", booster, "trip"), "the trip current"))
        else:
            amperes += trips
            names += own
            lets += [(breaker_line(study, home, "trip"), "the trip current") for home in own]
    breakers = f"breaker of {names[0]} trips" if len(names) == 1 else f"breakers of {listed(names)} trip"
    return _Most(name, size, amperes, f"before the {breakers}" if names else "", tuple(dict.fromkeys(lets)))


def _parts(study: Study) -> Iterator[tuple[Path, str, str, list[str]]]:
    """The conductors that feed something now: path, name, size as written, and the districts that feed through them.

    Those of a wire that does not exist are left to unknown-name.
    """
    for path, name, size, homes in _written(study):
        if conductor_limit(study, size) is not None:
            yield path, name, size, homes


def _written(study: Study) -> Iterator[tuple[Path, str, str, list[str]]]:
    layout, supply = study.layout, usual(study).feeding.supply
    for name, district in layout.districts.items():
        if district.feed is not None:
            yield ("districts", name, "feed", "wire"), f"feed of {name}", district.feed.wire, [name]
    homes: dict[str, dict[str, None]] = {}
    feeding: dict[str, set[str]] = {}
    for block, home in supply.items():
        homes.setdefault(str(layout.blocks[block].harness), {})[home] = None
        board = study.wiring.fed[block].board
        if board is not None:
            feeding.setdefault(board.name, set()).add(home)
    for name, own in feeding.items():
        feed = layout.boards[name].feed
        if feed is not None:
            yield ("boards", name, "feed", "wire"), f"feed of {name}", feed.wire, sorted(own)
    for name in layout.panels:
        own = {supply[block] for block in study.once(_served).get(("panels", name), ())}
        if layout.panels[name].wire is not None and own:
            yield ("panels", name, "wire"), f"wires of panel {name}", str(layout.panels[name].wire), sorted(own)
    for name in study.circuit.frogs:
        turnout = layout.turnouts[name]
        if turnout.frog_wire is not None and turnout.block in supply:
            path, size = ("turnouts", name, "frog_wire", "wire"), turnout.frog_wire.wire
            yield path, f"frog wire of {name}", size, [supply[turnout.block]]
    for name, harness in layout.harnesses.items():
        for key, what in (("bus", "buses"), ("common", "common"), ("feeder", "drops")):
            size = getattr(harness, key)
            if size is not None and name in homes:
                yield ("harnesses", name, key), f"{what} of {name}", str(size), sorted(homes[name])


def _served(study: Study) -> Mapping[tuple[str, str], list[str]]:
    """Harness or panel -> the blocks that are fed through it now."""
    found: dict[tuple[str, str], list[str]] = {}
    for block in usual(study).feeding.supply:
        poles = [one for one in study.wiring.host(block).isolators if panel_of(study.layout, one) is not None]
        parts = dict.fromkeys(("panels", str(one.panel)) for one in poles)
        for part in (("harnesses", str(study.layout.blocks[block].harness)), *parts):
            found.setdefault(part, []).append(block)
    return found


def _in_service(study: Study, operation: Operation) -> dict[Path, _Most]:
    """Conductor -> its busiest run with the rest of the load drawing."""
    electrics = Electrics.of(study, operation)
    amperes = list(electrics.loaded.resistor_amperes)
    why = in_scenario(operation.scenario).strip() or "in service"
    runs = [
        _Most(run.name, run.size, settled(max((abs(amperes[one]) for one in run.resistors), default=0.0)), why)
        for run in electrics.grid.runs
    ]
    found: dict[Path, _Most] = {}
    for path, most in chain(zip((run.path for run in electrics.grid.runs), runs, strict=True), _left_out(electrics)):
        if path not in found or found[path].amperes < most.amperes:
            found[path] = most
    return found


def _left_out(electrics: Electrics) -> Iterator[tuple[Path, _Most]]:
    """What the buses of blocks that lack data carry: what stands there and has enough volts for it, draws it."""
    study, scenario = electrics.study, electrics.operation.scenario
    for block in electrics.grid.lacking:
        harness = study.layout.harnesses.get(str(study.layout.blocks[block].harness))
        if harness is not None and harness.bus is not None and not electrics.feeding.divided(block):
            best = study.always(at_best)
            drawn = Electrics.of(best, best.operation(scenario)).channel_amperes(block) or 0.0
            why = in_scenario(scenario).strip() or "in service"
            yield ("harnesses", harness.name, "bus"), _Most(f"bus of {block}", harness.bus, settled(drawn), why)


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.ERROR,
    check,
    needs=("harnesses.*.bus", "harnesses.*.common", "districts.*.feed", "boosters.*.trip", "loads.*.running"),
)
