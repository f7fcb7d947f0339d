"""The layout: one frozen class a table of the language, quantities in SI units with the unit in the name.

Names stay names here; ``link`` resolves them. The docstring and the keys' descriptions are what the schema, the
editors and ``explain`` show.
"""

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, Literal, cast, get_args

from attrs import fields, frozen

from blockcheck.model.keys import Conductor, Count, Factor, Name, Number, Reason, Selection, key, subject
from blockcheck.model.quantities import (
    Amperes,
    Celsius,
    Farads,
    FaradsPerMetre,
    Fraction,
    Metres,
    OhmMetres,
    Ohms,
    OhmsPerMetre,
    Seconds,
    Volts,
)
from blockcheck.text.document import Tables

if TYPE_CHECKING:
    from attrs import AttrsInstance

LoadState = Literal["idle", "running", "stalled"]
RuleLevel = Literal["error", "warning", "note", "off"]


class Table:
    """What all tables share. One readable form serves them all; making one for each would cost every start-up."""

    __slots__ = ()

    def __repr__(self) -> str:
        shown = (
            f"{field.name}={getattr(self, field.name)!r}" for field in fields(cast("type[AttrsInstance]", type(self)))
        )
        return f"{type(self).__name__}({', '.join(shown)})"


@frozen(kw_only=True, eq=False, repr=False)
class About(Table):
    """What the layout is: its name, how its trains are controlled, its scale."""

    name: str = key("name", "Shown on every sheet.", example="Ropewalk sidings", words=True)
    control: Literal["dcc", "dc"] = key(
        "control", "How trains are controlled: digital (dcc), or two-rail direct current with cabs (dc).", example="dcc"
    )
    scale: str | None = key(
        "scale",
        "The scale, such as N, TT, HO, OO, S or O; lengths are then also told as scale distances.",
        default=None,
        words=True,
    )
    units: Literal["metric", "imperial"] = key(
        "units",
        "How answers are printed; the file itself may use either.",
        default="metric",
        why="the standards that are checked against are metric",
        words=True,
    )
    allowance: Fraction | None = key(
        "allowance",
        "Share by which every wire is cut longer than its way, for corners, slack and stripping; left out: nothing is "
        "added, and the wire list says so.",
        default=None,
        example="10 %",
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Booster(Table):
    """A source of track power; under dc, a cab's controller."""

    name: str = subject()
    voltage_v: Volts = key(
        "voltage", "Track voltage without load (the amplitude of the track signal).", example="14 V", above=0
    )
    current_a: Amperes = key("current", "Current it delivers continuously.", example="3 A", above=0)
    trip_a: Amperes | None = key("trip", "Current at which it cuts off.", default=None, example="4 A", above=0)
    delay_s: Seconds | None = key(
        "delay", "Time for which it bears more than its trip current.", default=None, example="30 ms"
    )
    resistance_ohm: Ohms = key(
        "resistance", "Output resistance.", default=0.0, why="a regulated output holds its voltage", example="0.05 ohm"
    )


@frozen(kw_only=True, eq=False, repr=False)
class Feed(Table):
    """The pair of conductors from the booster to the yard; both are counted."""

    wire: Conductor = key("wire", "Conductor of the pair: a size or the name of a wire.", example="2.5 mm2")
    length_m: Metres = key("length", "Length of the pair, one way.", example="6 m", above=0)


@frozen(kw_only=True, eq=False, repr=False)
class Single(Table):
    """One conductor, laid by itself."""

    wire: Conductor = key("wire", "Conductor: a size or the name of a wire.", example="2.5 mm2")
    length_m: Metres = key("length", "Its length.", example="1.5 m", above=0)


@frozen(kw_only=True, eq=False, repr=False)
class Expected(Table):
    """Vehicles that are powered at once in a district."""

    load: Name = key("load", "Kind of vehicle: the name of a load.", example="shunter")
    count: Count = key("count", "How many of them.", example=4)
    state: LoadState = key("state", "What they do.", default="idle", why="most vehicles in a yard stand still")


@frozen(kw_only=True, eq=False, repr=False)
class District(Table):
    """A power district: the tracks that one booster, or one breaker behind it, feeds."""

    name: str = subject()
    booster: Name = key("booster", "The booster that feeds it.", example="B1")
    current_a: Amperes | None = key(
        "current", "Most it may carry continuously; left out: the booster's.", default=None, example="2 A", above=0
    )
    trip_a: Amperes | None = key(
        "trip", "Trip current of its own breaker; left out: the booster's.", default=None, example="2.5 A", above=0
    )
    delay_s: Seconds | None = key(
        "delay", "Delay of its own breaker; left out: the booster's.", default=None, example="20 ms"
    )
    breaker: str | None = key(
        "breaker",
        "What its own breaker is, in words. A district with a trip current or with these words has one: a part between "
        "the booster and the feed.",
        default=None,
        example="electronic, beside the booster",
    )
    feed: Feed | None = key("feed", "The pair from the booster to the yard.", default=None)
    return_name: Name | None = key(
        "return",
        "Name of its return conductor. Districts of one booster share a return; districts of different boosters do "
        "only if they name the same one. Under dc all districts share one unless they name different ones.",
        default=None,
        example="R1",
    )
    polarity: Literal["fixed", "automatic", "switch"] = key(
        "polarity",
        "fixed; automatic (a device exchanges its rails when a train bridges one of its gaps); or switch (a two-pole "
        "changeover by hand does). For a section that turns trains round: it has a return of its own, and both rails "
        "are cut wherever it meets another district.",
        default="fixed",
        why="most track turns nothing round",
        example="automatic",
    )
    turns_at_a: Amperes | None = key(
        "turns_at",
        "Current at which an automatic device exchanges the rails: less than any breaker before it trips at.",
        default=None,
        example="2 A",
        above=0,
    )
    turn_delay_s: Seconds | None = key(
        "turn_delay", "Time that an automatic device takes for it.", default=None, example="0.5 ms"
    )
    expects: tuple[Expected, ...] = key(
        "expects",
        "What is powered at once; trains that stand in the district are counted instead.",
        default=(),
        words=True,
    )

    restart: Literal["at-once", "staged"] = key(
        "restart",
        "How it comes back after its power was off: at-once, with all tracks as they were left; or staged: its "
        "isolators are opened first, and closed in the stages that wake tells.",
        default="at-once",
        why="after a short, a breaker closes again by itself",
        example="staged",
    )

    @property
    def has_breaker(self) -> bool:
        """Whether it has a breaker of its own, besides its booster's."""
        return self.trip_a is not None or self.breaker is not None

    @property
    def turns(self) -> bool:
        """Whether its rails can be exchanged."""
        return self.polarity != "fixed"


@frozen(kw_only=True, eq=False, repr=False)
class BoardType(Table):
    """What a data sheet says of a detector board."""

    name: str = subject()
    channels: Count = key("channels", "How many channels it has.", example=8)
    threshold_a: Amperes = key(
        "threshold", "Least current that reads occupied (rectified mean).", example="1.5 mA", above=0
    )
    bank_size: Count | None = key(
        "bank_size", "How many channels share one feed terminal; left out: all of them.", default=None, example=4
    )
    channel_current_a: Amperes | None = key(
        "channel_current", "Most that one channel may carry.", default=None, example="2 A", above=0
    )
    drop_v: Volts = key(
        "drop",
        "Voltage lost across a channel that carries current.",
        default=0.0,
        why="coil detectors drop nothing",
        example="0.7 V",
    )
    sensing: Literal["series", "coil"] = key(
        "sensing",
        "How it senses: with something in series with the track, or with a coil around the wire.",
        default="series",
        why="most boards that share a feed terminal sense in series",
    )


@frozen(kw_only=True, eq=False, repr=False)
class Board(Table):
    """A detector board of this layout."""

    name: str = subject()
    type: Name = key(
        "type",
        "Its type: the name of a board type.",
        example="eight",
        compare="a board is what the data sheet of its type says, whatever the type is called",
    )
    banks: tuple[Name, ...] = key(
        "banks",
        "Districts that feed its banks, one a bank; a single one serves all. Left out: the only district.",
        default=(),
    )
    feed: Single | None = key(
        "feed",
        "The wire to each of its feed terminals: from the district's, or from the isolator that stands before it.",
        default=None,
        why="a board beside its district's terminal",
    )
    fuse_a: Amperes | None = key(
        "fuse",
        "Rating of the fuse in each of its channels' feeds; a block's own takes its place.",
        default=None,
        example="2 A",
        above=0,
    )
    first_address: Number | None = key(
        "first_address",
        "Number that channel 1 reports as; channel n reports first_address + n - 1.",
        default=None,
        example=101,
        words=True,
    )
    at: str | None = key("at", "Where it is mounted, in words.", default=None, example="under the east end", words=True)
    spare: tuple[Count, ...] = key(
        "spare", "Channels that are kept free on purpose.", default=(), example=[7, 8], words=True
    )


@frozen(kw_only=True, eq=False, repr=False)
class Colours(Table):
    """Insulation colours of a harness."""

    detected: tuple[str, ...] = key(
        "detected",
        "Colours of the detected buses, dealt out to the blocks in the order in which they appear.",
        default=(),
    )
    common: str | None = key("common", "Colour of the common return.", default=None)


@frozen(kw_only=True, eq=False, repr=False)
class Across(Table):
    """What lies across the rails, or across a bus pair, for good: a lamp, a filter. Of both, the one is in series with
    the other."""

    resistance_ohm: Ohms | None = key("resistance", "Its resistance.", default=None, example="1.2 kohm", above=0)
    capacitance_f: Farads | None = key(
        "capacitance",
        "Its capacitance, in series with its resistance. Under dcc it is charged the other way with every edge of the "
        "track signal, and draws all the time; under dc once.",
        default=None,
        example="0.1 uF",
        above=0,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Harness(Table):
    """The wires under one yard or stretch of line: a detected bus for each block, one common return for all."""

    name: str = subject()
    bus: Conductor | None = key("bus", "Conductor of each block's own detected bus.", default=None, example="1.5 mm2")
    common: Conductor | None = key("common", "Conductor of the shared return.", default=None, example="2.5 mm2")
    lead_m: Metres | None = key(
        "lead",
        "From the board and the return terminal to the blocks' near ends. Blocks that follow one another have leads of "
        "their own: give it to the first of them.",
        default=None,
        example="3 m",
    )
    feeder: Conductor | None = key("feeder", "Conductor of one drop from bus to rail.", default=None, example="0.5 mm2")
    feeder_length_m: Metres | None = key("feeder_length", "Length of one drop.", default=None, example="0.2 m")
    feeder_spacing_m: Metres | None = key(
        "feeder_spacing",
        "Greatest distance between drops; each stands in the middle of an equal share.",
        default=None,
        example="2 m",
        above=0,
    )
    segment_m: Metres | None = key(
        "segment",
        "Length between bench-work joints, where every bus is cut and joined.",
        default=None,
        example="1.2 m",
        above=0,
    )
    joint_resistance_ohm: Ohms = key(
        "joint_resistance",
        "Resistance of one such joint.",
        default=0.0,
        why="a good crimp adds next to nothing",
        example="2 mohm",
    )
    rail: Name | None = key(
        "rail",
        "code100, code83, code70 (nickel silver), or the name of one of the rails.",
        default=None,
        example="code83",
    )
    colours: Colours | None = key("colours", "Insulation colours.", default=None, words=True)
    capacitance_f_per_m: FaradsPerMetre | None = key(
        "capacitance", "Between a bus and the return.", default=None, example="50 pF/m"
    )
    terminator: Across | None = key(
        "terminator", "What lies across the far end of each bus pair for good, such as a filter.", default=None
    )
    leakage_ohm_m: OhmMetres | None = key(
        "leakage",
        "Resistance of the roadbed between the rails, times length.",
        default=None,
        example="5 Mohm m",
        above=0,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Wire(Table):
    """A conductor with a name, for harnesses and feeds to use."""

    name: str = subject()
    size: Conductor = key("size", "Its size.", example="1.5 mm2")
    resistance_ohm_per_m: OhmsPerMetre | None = key(
        "resistance",
        "Its resistance at 20 degC; left out: from the size, copper.",
        default=None,
        example="13.3 ohm/km",
        above=0,
    )
    current_a: Amperes | None = key(
        "current",
        "Most that it may carry; left out: from the table for its area.",
        default=None,
        example="6 A",
        above=0,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Run(Table):
    """Wires that carry no track power, such as those of switch machines or panel lamps, for the wire list."""

    name: str = subject()
    wire: Conductor = key("wire", "Their conductor: a size or the name of a wire.", example="0.5 mm2")
    length_m: Metres = key("length", "Length of the way, end to end.", example="4 m", above=0)
    count: Count = key(
        "count", "How many wires lie side by side.", default=1, why="a single wire is the plain case", example=2
    )
    segment_m: Metres | None = key(
        "segment",
        "Length between bench-work joints, where every wire is cut and joined; left out: in one piece.",
        default=None,
        example="1.2 m",
        above=0,
    )
    ends: tuple[str, ...] | None = key(
        "ends", "What is at the two ends.", default=None, example=["panel", "machine 1"], dealt=True
    )
    purpose: str | None = key("for", "What they are for, in words.", default=None, example="switch machine", words=True)
    colours: tuple[str, ...] = key(
        "colours",
        "Insulation colours, dealt out to the wires and round again.",
        default=(),
        example=["red", "black"],
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Rail(Table):
    """A kind of rail, for harnesses to use."""

    name: str = subject()
    resistance_ohm_per_m: OhmsPerMetre = key(
        "resistance", "Resistance of one rail at 20 degC.", example="0.06 ohm/m", above=0
    )
    leakage_ohm_m: OhmMetres | None = key(
        "leakage",
        "Resistance of the roadbed between the rails, times length.",
        default=None,
        example="5 Mohm m",
        above=0,
    )


@frozen(order=True)
class ChannelRef:
    """One channel of one board: ``D1.3``."""

    board: str
    number: int

    def __str__(self) -> str:
        return f"{self.board}.{self.number}"


@frozen(order=True)
class PoleRef:
    """One pole of one isolator: ``I3`` is its first, ``I3.2`` its second."""

    isolator: str
    pole: int = 1

    def __str__(self) -> str:
        return self.isolator if self.pole == 1 else f"{self.isolator}.{self.pole}"


@frozen(kw_only=True, eq=False, repr=False)
class Block(Table):
    """A stretch of track that is detected as one."""

    name: str = subject()
    channel: ChannelRef | None = key(
        "channel", "Board and channel that detect this block.", default=None, example="D1.3", dealt=True
    )
    undetected: Reason | None = key(
        "undetected",
        "Instead of a channel: the reason, in words, why this block has none. It is fed straight from its district.",
        default=None,
        words=True,
    )
    unpowered: Reason | None = key(
        "unpowered",
        "Instead of a channel: the reason, in words, why this block is plain track without power. Nothing feeds it, "
        "and both rails are cut wherever it meets track with power.",
        default=None,
        example="a display track behind the buffer stop",
    )
    fed_through: Name | None = key(
        "fed_through",
        "Instead of a channel: the block, or the turnout of the block, whose rails feed this one. It has no drops of "
        "its own, meets that block where no rail is cut, and is part of its detection.",
        default=None,
        example="W3",
    )
    district: Name | None = key(
        "district", "Its power district; needed only where no channel tells it.", default=None, example="lower"
    )
    isolated_by: tuple[PoleRef, ...] = key(
        "isolator",
        'The isolator that switches it, or one pole of it ("I3.2"). A list is of isolators in series, in the order in '
        "which the feed passes them: each of them open puts the block to sleep. In a range, each item is dealt out.",
        default=(),
        example="I3",
        dealt=True,
    )
    fuse_a: Amperes | None = key(
        "fuse",
        "Rating of the fuse in its feed; left out: its board's, where that has one. It is held against what flows "
        "there and what the bus behind it may carry; that a short trips the breaker is asked all the same.",
        default=None,
        example="2 A",
        above=0,
    )
    length_m: Metres | None = key("length", "Length of its track.", default=None, example="9.0 m", above=0)
    harness: Name | None = key("harness", "The harness that wires it.", default=None, example="lower")
    lead_m: Metres | None = key(
        "lead",
        "Lead of bus and common, instead of the harness's. Left out where that has none, it is taken along the chain "
        "of joints, far end to near end, from a block of the harness that has one: its lead plus its length.",
        default=None,
        example="3 m",
    )
    passes: Count = key(
        "passes",
        "How often its feed passes through the coil of its detector: it reads from the threshold divided by that.",
        default=1,
        why="a wire that is put through a coil passes it once",
        example=2,
    )
    feeders: Count | None = key(
        "feeders", "Count of drops, instead of one every feeder_spacing.", default=None, example=3
    )
    feeders_at_m: tuple[Metres, ...] | None = key(
        "feeders_at",
        "Distances of the drops from the near end, instead of equal shares.",
        default=None,
        example=["0.5 m", "4 m"],
    )
    across: Across | None = key(
        "across",
        "What lies across its rails for good, at its far end: a lamp, a filter. It draws, and may make the block read "
        "occupied for ever.",
        default=None,
    )
    track: Number | None = key(
        "track",
        "The number that people call it by; left out: the digits that end its name.",
        default=None,
        example=3,
        words=True,
        dealt=True,
    )
    group: str | None = key(
        "group",
        "The yard or line it belongs to, so that lower:3-7 is unambiguous.",
        default=None,
        example="lower",
        words=True,
    )
    helix: Count | None = key(
        "helix",
        "How many turns of a helix it is: the drawing shows them one over the other.",
        default=None,
        example=2,
        words=True,
    )
    kind: Literal["storage", "running", "throat"] | None = key(
        "kind",
        "storage, running, or throat (turnouts only; trains never stand there).",
        default=None,
        example="storage",
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Group(Table):
    """A yard or a line that blocks belong to: what the drawing cannot tell from how they are joined."""

    name: str = subject()
    deck: Count | None = key(
        "deck",
        "The deck it lies on; 1 is the lowest. A line from one to another is folded there, the higher above.",
        default=None,
        words=True,
    )
    side: Literal["outward", "inward"] = key(
        "side",
        "Whether its tracks lie outside or inside the circle that it is part of.",
        default="outward",
        why="there is more room",
        words=True,
    )
    shape: Literal["eight"] | None = key(
        "shape",
        "eight: its tracks are a figure of eight, which is joined as an oval with a passing loop is.",
        default=None,
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Isolator(Table):
    """A switch that puts track to sleep: what it is meant to do, and how it is really wired."""

    name: str = subject()
    contact: Literal["on-off", "changeover"] = key(
        "contact",
        "on-off, or changeover between two districts.",
        default="on-off",
        why="the plain switch is the usual one",
    )
    poles: Count = key("poles", "How many poles it has.", default=1, why="the plain switch is the usual one")
    side: Literal["after-detector", "before-detector", "common-rail"] = key(
        "side",
        "Where it cuts: after the detector, before it (in the feed of the whole bank), or between the block's common "
        "drops and the common bus.",
        default="after-detector",
        why="so that an open isolator also clears the channel",
    )
    isolates: tuple[Selection, ...] | None = key(
        "isolates",
        "Blocks that are meant to go dead; left out: the blocks that name it.",
        default=None,
        example=["S1-S3"],
        words=True,
        dealt=True,
    )
    power: Literal["off"] = key(
        "power", "What is meant for power when it is open.", default="off", why="that is what it is for", words=True
    )
    detection: Literal["off", "held"] = key(
        "detection",
        "What is meant for detection when it is open: off (the channel goes blind too), or held (parked vehicles "
        "still read).",
        default="off",
        why="a plain isolator after the detector blinds the channel",
        words=True,
    )
    hold_ohm: Ohms | None = key(
        "hold", "Resistor across the open contact, to hold detection.", default=None, example="10 kohm", above=0
    )
    contact_resistance_ohm: Ohms = key(
        "contact_resistance",
        "Resistance of the closed contact.",
        default=0.0,
        why="a good contact adds next to nothing",
        example="20 mohm",
    )
    rating_a: Amperes | None = key(
        "rating", "Current that the contact may carry.", default=None, example="5 A", above=0
    )
    usually: Name | None = key(
        "usually",
        "Its usual position: closed (default) or open; for a changeover a district's name "
        "(default: the one that its bank names) or off.",
        default=None,
        example="closed",
        words=True,
    )
    between: tuple[Name, ...] | None = key(
        "between", "For a changeover: the two districts that it chooses from.", default=None
    )
    centre_off: bool = key(
        "centre_off",
        "For a changeover: whether it also has an off position.",
        default=True,
        why="without one it isolates nothing",
    )
    panel: str | None = key(
        "panel",
        "The control panel that it is on, by its name; or in words where it is.",
        default=None,
        example="left, row 2",
        words=True,
    )

    @property
    def switches_return(self) -> bool:
        """Whether its second pole switches the return alike: that of a changeover, and of a selector's contact."""
        return self.poles > 1 and (self.contact == "changeover" or "/" in self.name)


@frozen(kw_only=True, eq=False, repr=False)
class Selector(Table):
    """A rotary switch: a contact in the feed of each of its tracks, of which at most one is closed. Each contact is an
    isolator, called by the switch and its track: R/S3."""

    name: str = subject()
    tracks: tuple[Selection, ...] = key(
        "tracks", "The blocks that it chooses from, one a position; each may be a range.", default=(), example=["S1-S9"]
    )
    wired: Literal["contacts", "pole"] = key(
        "wired",
        "contacts: one in each track's own feed behind its detector; or pole: the wire from one channel goes to a "
        "single pole, and all its tracks are on that channel.",
        default="contacts",
        why="relays and switches of many decks keep a detector for each track",
    )
    poles: Count = key(
        "poles",
        "1, or 2: the second pole switches the return of each track alike.",
        default=1,
        why="a common return serves all tracks",
    )
    off: bool = key("off", "Whether it has a position in which none is closed.", default=True, why="most have one")
    usually: Name | None = key(
        "usually",
        "Its usual position: a block or off; left out: off where it has that, else the first.",
        default=None,
        example="S3",
        words=True,
    )
    contact_resistance_ohm: Ohms = key(
        "contact_resistance",
        "Resistance of a closed contact.",
        default=0.0,
        why="a good contact adds next to nothing",
        example="20 mohm",
    )
    rating_a: Amperes | None = key("rating", "Current that a contact may carry.", default=None, example="5 A", above=0)
    panel: str | None = key(
        "panel",
        "The control panel that it is on, by its name; or in words where it is.",
        default=None,
        example="fascia",
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Panel(Table):
    """A control panel: the wires to it and back, of each control that names it, and where these stand on it."""

    name: str = subject()
    at: str | None = key("at", "Where it hangs.", default=None, example="in front of the yard", words=True)
    wire: Conductor | None = key(
        "wire", "Conductor of the wires to it and back: a size or the name of a wire.", default=None, example="0.75 mm2"
    )
    from_board_m: Metres | None = key(
        "from_board",
        "Length of each wire from a board, or from a district's terminals, to a control on it.",
        default=None,
        why="a switch beside the board",
        example="3 m",
        above=0,
    )
    to_bus_m: Metres | None = key(
        "to_bus",
        "Length of each wire from a control on it to where the bus behind it begins, or to a control elsewhere that it "
        "is in series with. What goes back to a board is as long as from_board.",
        default=None,
        why="a bus that begins at the switch",
        example="3 m",
        above=0,
    )
    rows: tuple[tuple[Selection, ...], ...] = key(
        "rows",
        "Its controls as seen from the front, row by row from the top, each from the left; left out: one row, in the "
        "order of their tracks.",
        default=(),
        example=[["I1-I5"], ["X1", "R"]],
        words=True,
    )
    pitch_m: Metres | None = key(
        "pitch", "Between two holes of a row.", default=None, example="25 mm", above=0, words=True
    )
    row_pitch_m: Metres | None = key(
        "row_pitch",
        "Between two rows; left out: twice as much as between two holes.",
        default=None,
        example="50 mm",
        above=0,
        words=True,
    )
    size_m: tuple[Metres, ...] = key(
        "size",
        "Its width and height; left out: as much as its holes need.",
        default=(),
        example=["300 mm", "120 mm"],
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Joint(Table):
    """Where two blocks' rails meet."""

    blocks: tuple[Name, ...] = key(
        "blocks", "The two blocks that meet; either may be a range.", example=["neck", "R1-R6"]
    )
    gap: Literal["detected", "both", "common", "none"] = key("gap", "Which rails are cut.", example="detected")
    ends: tuple[Literal["near", "far"], ...] = key(
        "ends",
        "Which end of the first block meets which end of the second.",
        default=("far", "near"),
        why="blocks follow each other along a line",
    )


@frozen(kw_only=True, eq=False, repr=False)
class Turnout(Table):
    """A turnout, the block that it lies in, and what lies beyond each leg."""

    name: str = subject()
    block: Name = key("block", "The block that it lies in.", example="neck", dealt=True)
    toe: Name | None = key("toe", "Block or turnout beyond the toe.", default=None, dealt=True)
    through: Name | None = key("through", "Block or turnout beyond the through leg.", default=None, dealt=True)
    diverging: Name | None = key("diverging", "Block or turnout beyond the diverging leg.", default=None, dealt=True)
    frog: Literal["insulated", "switched"] = key(
        "frog",
        "insulated, or switched (its polarity follows the points).",
        default="insulated",
        why="an insulated frog can short nothing",
    )
    frog_gaps: bool | None = key("frog_gaps", "Whether both frog rails are cut beyond the frog.", default=None)
    frog_wire: Single | None = key(
        "frog_wire",
        "The wire from the points' contact to a switched frog; the two that tie the contact to the rails' wires are of "
        "the same conductor.",
        default=None,
        why="a contact beside its frog",
    )
    frog_rail: Literal["detected", "common"] = key(
        "frog_rail",
        "The rail of the through leg that the frog carries on; on the diverging leg it is the other.",
        default="detected",
        why="either may be; it matters only where the frog is not cut off",
    )
    routes: bool | None = key(
        "routes",
        "Whether the points switch power: the rail that the frog carries on has it only on the leg for which they are "
        "set, so that the other leg has none from the toe. Left out: every leg is taken to stay fed.",
        default=None,
    )
    usually: Literal["through", "diverging"] = key(
        "usually", "Its usual position.", default="through", why="the through route is the usual one", words=True
    )


@frozen(kw_only=True, eq=False, repr=False)
class Interlock(Table):
    """States that cannot be, since relays, latching buttons or a lever frame keep them out. No proof looks at them, and
    nothing may be set so: neither as usual, nor in a scenario, nor on the command line."""

    controls: tuple[Name, ...] = key(
        "controls",
        "Isolators and turnouts of which one keeps out the others; each may be a range.",
        default=(),
        example=["I1-I4"],
    )
    at_most_one: Name | None = key(
        "at_most_one",
        "The position that at most one of the controls has at any time.",
        default=None,
        example="closed",
    )
    never: Mapping[Name, Name] = key(
        "never",
        "Instead of controls: positions of isolators, turnouts and selectors that never hold all at once.",
        default={},
        example={"I3": "closed", "X1": "east"},
    )
    because: Reason = key(
        "because",
        "What keeps those states out, in words: the proofs rest on it.",
        example="each relay drops out the others",
        words=True,
    )


@frozen(kw_only=True, eq=False, repr=False)
class Load(Table):
    """A kind of vehicle."""

    name: str = subject()
    idle_a: Amperes | None = key("idle", "Current while it stands under power.", default=None, example="90 mA")
    running_a: Amperes | None = key("running", "Current while it runs.", default=None, example="0.35 A")
    stalled_a: Amperes | None = key("stalled", "Current while its motor is stalled.", default=None, example="1 A")
    sound: bool = key(
        "sound", "Whether it makes sound while it is under power.", default=False, why="most vehicles are silent"
    )
    locomotive: bool = key("locomotive", "Whether it is a locomotive.", default=False, why="most vehicles are not")
    capacitance_f: Farads | None = key(
        "capacitance", "What it must charge on power-up.", default=None, example="1000 uF"
    )
    charge_ohm: Ohms | None = key(
        "charge_resistance",
        "Resistance between the rails and the capacitance: it charges with V / R at most, and time constant R C. Left "
        "out: nothing limits it.",
        default=None,
        example="100 ohm",
        above=0,
    )
    whole_ohm: Ohms | None = key(
        "axle", "Resistance across the rails, of the whole vehicle.", default=None, example="15 kohm", above=0
    )
    axles: Count | None = key(
        "axles", "How many of its axles have a resistor, instead of axle.", default=None, example=2
    )
    each_ohm: Ohms | None = key(
        "axle_resistance", "Resistance of each of those axles.", default=None, example="10 kohm", above=0
    )
    asleep_a: Amperes = key(
        "asleep",
        "What a locomotive draws when the voltage is too low to wake it.",
        default=0.0,
        why="a sleeping decoder draws next to nothing",
        example="2 mA",
    )
    length_m: Metres | None = key("length", "Its length over couplers.", default=None, example="0.2 m", above=0)

    @property
    def axle_ohm(self) -> float | None:
        """Resistance across the rails, of the whole vehicle: as it is given, or of its axles side by side."""
        if self.whole_ohm is not None or self.each_ohm is None or self.axles is None:
            return self.whole_ohm
        return self.each_ohm / self.axles

    @property
    def axle_key(self) -> str:
        """The key that tells it."""
        return "axle" if self.each_ohm is None else "axle_resistance"

    def current_a(self, state: str) -> float | None:
        """Its current in a state, in amperes; None where the datum is missing."""
        found: float | None = getattr(self, f"{state}_a")
        return found


@frozen(kw_only=True, eq=False, repr=False)
class Train(Table):
    """Vehicles that stand or run together."""

    name: str = subject()
    vehicles: Mapping[Name, Count] = key("vehicles", "How many of each load.", example={"shunter": 1})
    at: Name | None = key("at", "The block that it stands in.", default=None, example="S3", dealt=True)
    offset_m: Metres | None = key(
        "offset",
        "From the near end to the middle of the train; left out: the middle of the block.",
        default=None,
        example="4 m",
    )
    state: LoadState = key("state", "What it does.", default="idle", why="most trains in a yard stand still")
    length_m: Metres | None = key(
        "length", "Its length; left out: the sum of its vehicles.", default=None, example="2.1 m", above=0
    )


@frozen(kw_only=True, eq=False, repr=False)
class Expect(Table):
    """What must come out of a scenario."""

    dead: tuple[Selection, ...] = key("dead", "Blocks without power.", default=())
    lit: tuple[Selection, ...] = key("lit", "Blocks with power.", default=())
    occupied: tuple[Selection, ...] = key("occupied", "Blocks that read occupied.", default=())
    clear: tuple[Selection, ...] = key("clear", "Blocks that read clear.", default=())


@frozen(kw_only=True, eq=False, repr=False)
class Scenario(Table):
    """A way in which the layout is operated."""

    name: str = subject()
    open: tuple[Selection, ...] = key(
        "open", "Isolators that are open, by block, track or name.", default=(), example=["lower:3-7"]
    )
    closed: tuple[Selection, ...] = key("closed", "Isolators that are closed, by block, track or name.", default=())
    set: Mapping[Name, Name] = key(
        "set", "Position of changeovers, turnouts and selectors.", default={}, example={"X1": "upper"}
    )
    at: Mapping[Name, Name] = key("at", "Block in which each train stands.", default={}, example={"coal": "S3"})
    states: Mapping[Name, LoadState] = key("states", "What each train does.", default={}, example={"coal": "running"})
    expect: Expect | None = key("expect", "What must come out.", default=None)


@frozen(kw_only=True, eq=False, repr=False)
class Limits(Table):
    """What the checks hold the layout against."""

    headroom: Fraction = key(
        "headroom",
        "Share of a district's or booster's current that should stay free.",
        default=0.2,
        why="common practice, no source",
    )
    voltage_drop: Fraction = key(
        "voltage_drop",
        "Most that may be lost between the booster and any wheel.",
        default=0.1,
        why="common practice, no source",
    )
    minimum_voltage_v: Volts | None = key(
        "minimum_voltage",
        "Least voltage at any wheel.",
        default=None,
        why='"7 V" for dcc: NMRA S-9.1, decoders must work down to it',
    )
    trip_margin: Factor = key(
        "trip_margin",
        "A short anywhere must draw this many times the trip current.",
        default=1.5,
        why="common practice, no source",
    )
    conductor_temperature_c: Celsius = key(
        "conductor_temperature",
        "Temperature of wires and rails: a resistance that is stated is that at 20 degC, of copper in a wire and of "
        "nickel silver in a rail.",
        default=20.0,
        why="the temperature of the tables",
    )
    detection_margin: Factor = key(
        "detection_margin",
        "The smallest vehicle must draw this many times the threshold; leakage must stay below the threshold divided "
        "by it.",
        default=1.5,
        why="common practice, no source",
    )


@frozen(kw_only=True, eq=False, repr=False)
class Accept(Table):
    """A finding that is accepted, and why."""

    rule: str = key("rule", "Name of the rule.", example="storage-not-isolatable")
    where: Selection = key("where", "Name or range of what it is accepted for.", example="S3")
    because: Reason = key("because", "The reason, in words.", example="the fiddle track stays live")
    until: date | None = key("until", "The last day on which it counts.", default=None)


@frozen(kw_only=True, eq=False, repr=False)
class Layout(Table):
    """The whole layout, all files joined and all ranges written out."""

    format: Count = key(
        "format",
        "Version of this language. Needed in the first file.",
        example=1,
        default=1,
        compare="there has been one version",
    )
    include: tuple[str, ...] = key(
        "include",
        'Other files of this layout, relative to this one; "stock:NAME" is data that ships with blockcheck.',
        default=(),
        compare="a layout says the same in one file as in several",
    )
    about: About = key("layout", "What the layout is. Needed, once.")
    boosters: Mapping[str, Booster] = key("boosters", "The sources of track power.", default={})
    districts: Mapping[str, District] = key("districts", "The power districts.", default={})
    board_types: Mapping[str, BoardType] = key(
        "board_types", "What the data sheets of the detector boards say.", default={}
    )
    boards: Mapping[str, Board] = key("boards", "The detector boards.", default={})
    harnesses: Mapping[str, Harness] = key("harnesses", "The wires under each yard or stretch of line.", default={})
    wires: Mapping[str, Wire] = key("wires", "Conductors with a name.", default={})
    rails: Mapping[str, Rail] = key("rails", "Kinds of rail with a name.", default={})
    runs: Mapping[str, Run] = key("runs", "Wires that carry no track power, for the wire list.", default={})
    blocks: Mapping[str, Block] = key("blocks", "The blocks of track.", default={})
    groups: Mapping[str, Group] = key(
        "groups", "The yards and lines that blocks belong to, for the drawing.", default={}, words=True
    )
    isolators: Mapping[str, Isolator] = key("isolators", "The switches that put track to sleep.", default={})
    selectors: Mapping[str, Selector] = key(
        "selectors", "The rotary switches, each of which chooses one of several tracks.", default={}
    )
    panels: Mapping[str, Panel] = key("panels", "The control panels, with the wires to them.", default={})
    joints: tuple[Joint, ...] = key("joints", "Where the rails of two blocks meet.", default=())
    turnouts: Mapping[str, Turnout] = key("turnouts", "The turnouts.", default={})
    interlocks: tuple[Interlock, ...] = key(
        "interlocks", "States that cannot be: all that is proved is proved of those that remain.", default=()
    )
    loads: Mapping[str, Load] = key("loads", "The kinds of vehicle.", default={}, words=True)
    trains: Mapping[str, Train] = key("trains", "The trains.", default={}, words=True)
    scenarios: Mapping[str, Scenario] = key(
        "scenarios", "Ways in which the layout is operated.", default={}, words=True
    )
    limits: Limits = key("limits", "What the checks hold the layout against.", default=Limits(), words=True)
    rules: Mapping[str, RuleLevel] = key("rules", "Severity of rules, or off.", default={}, words=True)
    accept: tuple[Accept, ...] = key("accept", "Findings that are accepted.", default=(), words=True)

    @property
    def least_voltage_v(self) -> float | None:
        """Least voltage that a wheel may see: the limit as given, else 7 V for dcc (NMRA S-9.1), else none."""
        if self.limits.minimum_voltage_v is not None:
            return self.limits.minimum_voltage_v
        return 7.0 if self.about.control == "dcc" else None


_HELD = {one.metadata["toml"]: get_args(one.type)[-1:] for one in fields(Layout)}
SUBJECTS: Mapping[str, type] = {
    toml: kind for toml, held in _HELD.items() for kind in held if isinstance(kind, type) and issubclass(kind, Table)
}
"""The named tables, and the class of one."""


def _dealt(kind: Any) -> Mapping[str, bool]:
    own = fields(kind)
    return {one.metadata["toml"]: Number in (one.type, *get_args(one.type)) for one in own if one.metadata.get("dealt")}


TABLES = Tables(
    tuple(SUBJECTS),
    ("joints", "accept", "interlocks"),
    {toml: _dealt(kind) for toml, kind in SUBJECTS.items()},
    {"joints": "blocks"},
)
"""What the reader must know of the language."""
