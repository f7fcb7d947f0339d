"""What the page in hand holds of blocks, switches, trains and districts: enough to say how they stand in any state."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from blockcheck.analysis.bench.wired import CHANNELS, INSTRUMENTS, OHMS, TRIPS, VOLTS
from blockcheck.core.columns import column

READS = ("occupied", "clear", "unknown")
WAYS = "Its minimal ways, each by the numbers of its contacts; null where there are too many to list. "


@frozen
class PageContact:
    """A control, and where it stands."""

    control: str = column("The control.")
    at: str = column("Its position.")


@frozen
class PageBlock:
    """A block, with its minimal ways of current. A block that is left out of the circuit has none, and is off."""

    block: str = column("Block.")
    track: int | None = column("The number that people call it by.")
    group: str | None = column("Its group.")
    district: str | None = column("Its home district.")
    channel: str | None = column("Its channel; null where it has none.")
    address: int | None = column("What its channel reports as.")
    place: str | None = column("Where its board hangs.")
    length_m: float | None = column("Its length.")
    throat: bool = column("Whether trains never stand in it.")
    known: bool = column("Whether it is in the circuit.")
    opens: tuple[str, ...] = column("The isolators that open where this block is to be isolated.")
    feed: tuple[str, ...] = column("The isolators that its own feed runs through, in natural order.")
    meant: tuple[str, ...] = column("The isolators that are meant to isolate it.")
    chooses: tuple[str, ...] = column("The changeovers that choose its district; the last that is not off does.")
    across_siemens: float = column("What lies across its rails for good.", key="across")
    on: tuple[tuple[int, ...], ...] | None = column(WAYS + "It has power where one is whole.")
    trickle: tuple[tuple[int, ...], ...] | None = column(
        WAYS + "It trickles through hold resistors where it has no power and one is whole."
    )
    reads: tuple[tuple[int, ...], ...] | None = column(
        WAYS + "Its detection works where it has power and one is whole."
    )
    held: tuple[tuple[int, ...], ...] | None = column(
        WAYS + "Its detection is held where it is not off, does not work, and one is whole."
    )


@frozen
class PageSwitch:
    """A control: an isolator, a changeover, or points that stand in several ways."""

    switch: str = column("Its name.")
    kind: str = column("What it is.", choices=("isolator", "changeover", "points"))
    usual: str = column("Where it usually stands.")
    open: str | None = column("Where it stands when it cuts; null where it has no such position.")
    closed: str | None = column("Where it stands when it feeds; null for points.")
    detection: str | None = column("What is meant for detection when it is open; null for points.")
    hold_ohm: float | None = column("The resistor across its open contact.")
    kills: tuple[str, ...] = column("The blocks that it takes power from, everything else as usual.")
    panel: str | None = column("Where it is.")


@frozen
class PageBar:
    """What an interlock keeps out."""

    holds: tuple[PageContact, ...] = column("Of these contacts ...")
    most: int = column("... at most so many hold at once.", least=0)
    says: str = column("The interlock in words, with its reason.")
    shaft: bool = column("Whether it is a rotary switch, whose shaft moves them all.")


@frozen
class PageTrain:
    """A train where it stands."""

    train: str = column("Its name.")
    block: str = column("The block that it stands in.")
    state: str = column("What it does.")
    length_m: float | None = column("How long it is; null where that is not known.")
    current_a: float = column("What its vehicles draw, its axles aside.")
    axles_siemens: float = column("What its axles conduct between the rails.", key="axles")
    reads: str | None = column(
        "What its block reads of it while its detection works; null where that is asked live only.", choices=READS
    )
    reads_held: str | None = column(
        "What it reads while its own isolators alone are open and a trickle holds it; null where it never does, or "
        "that is asked live only.",
        choices=READS,
    )


@frozen
class PageState:
    """A way of operating the layout: as usual, or a scenario."""

    scenario: str | None = column("The scenario; null as usual.")
    positions: Mapping[str, str] = column("The controls that do not stand as usual.")
    trains: tuple[PageTrain, ...] = column("The trains that stand somewhere.")


@frozen
class PageDistrict:
    """A district, and what is expected to draw in it where no train stands."""

    district: str = column("District.")
    limit_a: float | None = column("Most that it may carry.")
    booster_v: float | None = column("What its booster gives; null where it has none.")
    expected_a: float = column("What the vehicles that it expects draw, their axles with them.")
    usual: tuple[str, ...] = column("The blocks that are awake in it as usual, throats aside.")


@frozen
class PageTerminal:
    """A terminal on the way of some current."""

    terminal: str = column("Its name.")
    place: str = column("Where it is, in words.")
    labels: tuple[str, ...] = column("The labels on it.")


@frozen
class PageLine:
    """Terminals one after the other, by their numbers, and what is between."""

    terminals: tuple[int, ...] = column("The terminals, in the order in which the current passes them.")
    joins: tuple[int, ...] = column("What is behind each of them, by its number among the joins; 0 is nothing.")
    beyond: int = column(
        "So many of them come before or at the first drop; a break beyond darkens a part of the block alone.", least=0
    )


@frozen
class PageWay:
    """The way of the current to a block and back, terminal after terminal; empty where rails of others feed it."""

    block: str = column("The block.")
    comes: PageLine = column("From the booster to its rail.")
    returns: PageLine = column("From the booster's return to its other rail.")


@frozen
class PageStep:
    """A step of the sheet, one a screen: as ``bench`` has it, less what puts it beside its neighbours."""

    step: int = column("Its number on the sheet.", least=1)
    id: str = column("What trace knows it by.")
    stage: str = column("Whether power is off or on.", choices=("dead", "live"))
    kind: str = column("What is read.", choices=(OHMS, CHANNELS, VOLTS, TRIPS))
    instrument: str = column("What it is made with; empty for a short.", key="with", choices=("", *INSTRUMENTS))
    title: str = column("What it is about.")
    do: str = column("What to do.")
    red: str = column("Where the red probe goes.")
    black: str = column("Where the black probe goes.")
    expect: str = column("What to read, in words.")
    value: float | None = column("What to read, in ohms or volts; null where it is open, or names are read.")
    low: float | None = column("The least that is right, in ohms or volts.")
    high: float | None = column("The most that is right; null where it is open.")
    names: tuple[str, ...] | None = column("The channels or breakers to read; null where a number is read.")
    made: tuple[float, ...] | None = column(
        "The shares of its ohms that go with those of the rails, of the wires, and of joints and contacts; null where "
        "no ohms are measured, or data lack."
    )


@frozen
class PageFaults:
    """Single faults, as what each changes in which step: columns, each with an item a fault."""

    words: tuple[tuple[str | int, ...], ...] = column("What is wrong: names, and the numbers of phrases between them.")
    look: tuple[int, ...] = column("Where to look first, by its number among the places.")
    places: tuple[tuple[str | int, ...], ...] = column("The places to look, as the words are told.")
    phrases: tuple[str, ...] = column("What stands between names.")
    weight: tuple[float, ...] = column("How likely it is beside the others.")
    sized: tuple[int, ...] = column(
        "The faults, by number, that may have any size, so that a number tells no more than which way it is off."
    )
    steps: tuple[tuple[int, ...], ...] = column(
        "The steps in which it reads otherwise than what is right: the first and the last of each run of them that "
        "reads alike."
    )
    reads: tuple[tuple[int, ...], ...] = column("What each run of them reads, by its number among the values.")
    values: tuple[float | str, ...] = column(
        "Ohms or volts; beeps or silent; + and the names that read beside those that are right; or names instead of "
        "those. Names that are doubtful stand behind ; perhaps."
    )


@frozen
class PageTests:
    """The test sheet, and what each single fault changes in it."""

    steps: tuple[PageStep, ...] = column("The steps, in the order that is safe.")
    dead: tuple[str, ...] = column("Before the dead tests.")
    live: tuple[str, ...] = column("Before the live tests.")
    channels: tuple[str, ...] = column("Every channel that may read.")
    breakers: tuple[str, ...] = column("Every breaker that may trip.")
    maybe: Mapping[str, tuple[str, ...]] = column("Step -> what may read there though nothing is wrong.")
    faults: PageFaults = column("The faults that some step sees, each at the sizes that are typical of it.")
    left_out: int = column(
        "How many ways in which three plugs may have changed places are left out of a large layout's table.", least=0
    )
    unseen: int = column("How many faults no step of the sheet sees.", least=0)
