"""The wires of a layout from end to end, as far as they follow from its tables, and the gaps in its rails.

``wires`` is the one place that says which wires there are; what compares them knows only ends, conductor and length.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from attrs import evolve, field, frozen

from blockcheck.analysis.difference.renames import NONE, Renames
from blockcheck.circuit.ladder import conductor_ohm_per_m, drop_places
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Harness, Layout, Limits
from blockcheck.model.quantities import DIMENSIONS, Ohms, OhmsPerMetre, show
from blockcheck.model.wiring import Fed, Wiring, bank_count, bank_district, bus_colours

ARROW = " > "
KINDS = ("feed", "return", "bank", "common", "bus", "drops", "hold", "frog")
"""Kinds of wires, from the booster outwards."""
SHARED = ("feed", "return", "bank", "common")
"""Those that serve several blocks."""


@frozen
class Wire:
    """A wire, or several alike that are laid together.

    ``key`` says what it is for, by names; ``ends`` are the terminals that it passes, in the order of the current, such
    as ``("D1.3", "I3", "S3")``. ``conductor`` is as people call it; ``ohm_per_m`` tells whether two are the same.
    Lengths in metres; ``at_m`` are the places of drops from the block's near end; None is not known. ``blocks`` are
    those that it serves.
    """

    key: tuple[str, ...]
    name: str
    ends: tuple[str, ...]
    conductor: str | None = None
    ohm_per_m: float | None = None
    length_m: float | None = None
    segment_m: float | None = None
    at_m: tuple[float, ...] = ()
    colour: str | None = field(default=None, eq=False)
    blocks: tuple[str, ...] = field(default=(), eq=False)

    @property
    def kind(self) -> str:
        """feed, return, bank, bus, common, drops, hold or frog."""
        return self.key[0]

    @property
    def way(self) -> str:
        """Its ends as people write them: ``D1.3 > I3 > S3``."""
        return ARROW.join(self.ends)


def wires(wiring: Wiring, names: Renames = NONE) -> tuple[Wire, ...]:
    """All wires of a layout, each key once, in an order that its names alone give.

    ``names`` says what a thing is called in the other layout; it changes words, not their order.
    """
    return tuple(_Wires(wiring, names).all())


@frozen(eq=False, repr=False, slots=False)
class _Wires:
    wiring: Wiring
    names: Renames

    @cached_property
    def cold(self) -> Layout:
        """The layout at the temperature of the tables: another temperature is no other wire."""
        return evolve(self.wiring.layout, limits=Limits())

    @cached_property
    def colours(self) -> Mapping[str, str]:
        return bus_colours(self.wiring)

    @cached_property
    def served(self) -> dict[tuple[str, str, int | None], tuple[str, ...]]:
        """What feeds -> the blocks that it serves: a district, or a bank of a board."""
        found: dict[tuple[str, str, int | None], list[str]] = {}
        for name, fed in self.wiring.fed.items():
            if fed.district is not None:
                found.setdefault(("district", fed.district, None), []).append(name)
            if fed.board is not None:
                found.setdefault(("bank", fed.board.name, fed.bank), []).append(name)
        return {key: tuple(names) for key, names in found.items()}

    def say(self, kind: str, name: str) -> str:
        return self.names.new(kind, name)

    def all(self) -> Iterator[Wire]:
        yield from self.districts()
        yield from self.banks()
        yield from self.commons()
        for fed in self.wiring.fed.values():
            yield from self.block(fed)
        for name in sorted(self.wiring.layout.isolators, key=natural_key):
            ohms = self.wiring.layout.isolators[name].hold_ohm
            if ohms is not None:
                said = self.say("isolators", name)
                across = show(ohms, DIMENSIONS[Ohms], digits=6)
                yield Wire(("hold", said), f"hold resistor of {said}", (said,), across, ohms)
        for name in sorted(self.wiring.layout.turnouts, key=natural_key):
            turnout = self.wiring.layout.turnouts[name]
            if turnout.frog == "switched":
                block = self.say("blocks", str(turnout.block))
                yield Wire(
                    ("frog", name),
                    f"frog of {name}",
                    (f"contact of the points of {name}", f"frog of {name}"),
                    f"through: {turnout.frog_rail} rail of {block}",
                    blocks=(str(turnout.block),),
                )

    def districts(self) -> Iterator[Wire]:
        layout = self.wiring.layout
        for name in sorted(layout.districts, key=natural_key):
            district = layout.districts[name]
            said, booster = self.say("districts", name), self.say("boosters", str(district.booster))
            feed = district.feed
            served = self.served.get(("district", name, None), ())
            size = self.conductor(str(feed.wire)) if feed else (None, None)
            length = feed.length_m if feed else None
            yield Wire(("feed", said), f"feed pair of {said}", (booster, said), *size, length, blocks=served)
            back = district.return_name
            if back is not None or layout.about.control == "dc":
                rail = f"return {back}" if back is not None else "the common rail"
                yield Wire(("return", said), f"return of {said}", (f"return of {said}", rail), blocks=served)

    def banks(self) -> Iterator[Wire]:
        layout = self.wiring.layout
        for name in sorted(layout.boards, key=natural_key):
            board = layout.boards[name]
            kind = layout.board_types.get(board.type)
            count = bank_count(kind) if kind is not None else 0
            for bank in range(1, count + 1):
                home = bank_district(layout, board, bank)
                said = self.say("boards", name)
                end = f"{said} bank {bank}" if count > 1 else f"{said} feed"
                passed = self.wiring.bank_isolators.get((name, bank), ())
                between = [one for isolator, _ in passed for one in isolator.between or ()]
                homes = sorted(dict.fromkeys(map(str, between)), key=natural_key) or [str(home)]
                source = " or ".join(self.say("districts", one) for one in homes)
                poles = [
                    self.pole(isolator.name, pole)
                    for isolator, pole in sorted(passed, key=lambda one: (one[0].contact == "on-off", one[0].name))
                ]
                served = self.served.get(("bank", name, bank), ())
                if home is not None:
                    yield Wire(
                        ("bank", said, str(bank)),
                        f"feed of {end.removesuffix(' feed')}",
                        (source, *poles, end),
                        blocks=served,
                    )

    def pole(self, isolator: str, pole: int) -> str:
        said = self.say("isolators", isolator)
        return said if pole == 1 else f"{said}.{pole}"

    def conductor(self, text: str | None) -> tuple[str | None, float | None]:
        """What a conductor is called, and its ohms per metre, which a wire of another name may have too."""
        if text is None:
            return None, None
        wire, ohms = self.wiring.layout.wires.get(text), conductor_ohm_per_m(self.cold, text)
        if wire is None:
            return text, ohms
        own = wire.resistance_ohm_per_m
        return (str(wire.size) if own is None else f"{wire.size} of {show(own, DIMENSIONS[OhmsPerMetre])}"), ohms

    def back(self, fed: Fed) -> tuple[str, ...]:
        """Where a block's return comes from: its district's, or through the second pole of a changeover."""
        isolator = fed.isolator
        if isolator is not None and isolator.contact == "changeover" and isolator.poles > 1:
            homes = " or ".join(self.say("districts", str(one)) for one in isolator.between or ())
            return f"return of {homes}", self.pole(isolator.name, 2)
        return (f"return of {self.say('districts', str(fed.district))}",)

    def harness(self, fed: Fed) -> Harness | None:
        name = fed.block.harness
        return self.wiring.layout.harnesses.get(name) if name is not None else None

    def reach_m(self, fed: Fed, harness: Harness) -> float | None:
        """The length of a block's bus: from the board to its far end."""
        lead_m = fed.block.lead_m if fed.block.lead_m is not None else harness.lead_m
        return None if lead_m is None or fed.block.length_m is None else lead_m + fed.block.length_m

    @cached_property
    def groups(self) -> Mapping[str, tuple[tuple[tuple[str, ...], str, tuple[Fed, ...]], ...]]:
        """Harness -> its common buses: where each comes from, what it is called, and its blocks.

        There is one for each return that the blocks have; the one with most blocks is the first, and needs no number.
        """
        found: dict[str, dict[tuple[str, ...], list[Fed]]] = {}
        for fed in self.wiring.fed.values():
            if fed.block.harness in self.wiring.layout.harnesses and fed.district is not None:
                found.setdefault(str(fed.block.harness), {}).setdefault(self.back(fed), []).append(fed)
        named = {}
        for harness, groups in found.items():
            said = self.say("harnesses", harness)
            order = sorted(groups.items(), key=lambda one: (-len(one[1]), one[0]))
            named[harness] = tuple(
                (back, f"common bus {number} of {said}" if number > 1 else f"common bus of {said}", tuple(feds))
                for number, (back, feds) in enumerate(order, 1)
            )
        return named

    @cached_property
    def common_of(self) -> Mapping[str, str]:
        """Block -> the common bus that its drops hang on."""
        return {fed.block.name: bus for groups in self.groups.values() for _, bus, feds in groups for fed in feds}

    def commons(self) -> Iterator[Wire]:
        """The common buses of every harness."""
        for name in sorted(self.groups, key=natural_key):
            said, harness = self.say("harnesses", name), self.wiring.layout.harnesses[name]
            for number, (back, bus, feds) in enumerate(self.groups[name], 1):
                reaches = [self.reach_m(fed, harness) for fed in feds]
                length = max((reach for reach in reaches if reach is not None), default=None)
                served = tuple(fed.block.name for fed in feds)
                size = self.conductor(harness.common)
                colour = harness.colours.common if harness.colours is not None else None
                key = ("common", "harness", said, str(number))
                yield Wire(key, bus, (*back, bus), *size, length, harness.segment_m, colour=colour, blocks=served)

    def block(self, fed: Fed) -> Iterator[Wire]:
        """The bus of a block from its channel, its drops, and its own common where it has one."""
        name, isolator, harness = self.say("blocks", fed.block.name), fed.isolator, self.harness(fed)
        one = (fed.block.name,)
        pole = self.pole(isolator.name, fed.block.isolator.pole) if isolator and fed.block.isolator else None
        on_off = isolator is not None and isolator.contact == "on-off"
        side = isolator.side if isolator is not None else None
        inside = on_off and (side == "after-detector" or (side == "before-detector" and fed.channel is None))
        if fed.channel is not None:
            start = [f"{self.say('boards', fed.channel.board)}.{fed.channel.number}"]
        elif isolator is not None and isolator.contact == "changeover":
            homes = " or ".join(self.say("districts", str(home)) for home in isolator.between or ())
            start = [homes, str(pole)]
        else:
            start = [self.say("districts", str(fed.district))] if fed.district is not None else []
        length = self.reach_m(fed, harness) if harness is not None else None
        size = self.conductor(harness.bus if harness is not None else None)
        segment = harness.segment_m if harness is not None else None
        if start and not fed.missing:
            ends = (*start, *([str(pole)] if inside and pole else []), name)
            colour = self.colours.get(fed.block.name)
            yield Wire(("bus", name), f"bus of {name}", ends, *size, length, segment, colour=colour, blocks=one)
        own = [str(pole)] if on_off and side == "common-rail" and pole else []
        if (harness is None or own) and fed.district is not None:
            source = (self.common_of[fed.block.name],) if harness is not None else self.back(fed)
            common = self.conductor(harness.common if harness is not None else None)
            yield Wire(
                ("common", "block", name),
                f"common of {name}",
                (*source, *own, f"{name} common rail"),
                *common,
                blocks=one,
            )
        if harness is not None:
            places = drop_places(fed.block, harness) or ()
            common_end = f"{name} common rail" if own else self.common_of.get(fed.block.name)
            ends = (f"bus of {name}", *([common_end] if common_end else []), f"rails of {name}")
            size = self.conductor(harness.feeder)
            key = ("drops", name)
            yield Wire(key, f"drops of {name}", ends, *size, harness.feeder_length_m, at_m=places, blocks=one)
