"""A whole yard from a few numbers: ladders, joints, channels, switches, harness, panel, trains and a scenario."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from attrs import evolve, frozen

from blockcheck.answers.start import parts
from blockcheck.answers.start.parts import in_units, range_of, section
from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown
from blockcheck.core.words import plural
from blockcheck.model.quantities import DIMENSIONS, Metres, QuantityError, parse

MOST_TRACKS = 40
SHORTEST_M, LONGEST_M = 0.5, 15.3
"""Tracks of other lengths want wires and detectors that somebody has thought about."""
_MOST_CHANNELS, _MOST_BOARDS = 100, 16
ROW = 10
"""Switches in a row of the panel."""
KINDS = ("dcc", "dc")
"""How it is fed: by a booster, through detectors and switches, or by two cabs, one or the other for each track."""
ENGINE_M, WAGON_M = 0.2, 0.14
PER_TURNOUT_M = 0.25
"""Of a ladder, from one turnout to the next; common practice, no source."""


@frozen(kw_only=True)
class Wish:
    """What a yard is to be; ``settled`` fills in what is left out (None)."""

    tracks: int
    ends: int = 1
    boards: tuple[int, ...] | None = None
    units: str = "metric"
    length: str | None = None
    isolators: bool = True
    name: str | None = None
    kind: str = "dcc"

    def settled(self) -> Wish:
        """With everything said that was left out. Raises CallError for what no yard can be."""
        if not 1 <= self.tracks <= MOST_TRACKS:
            help_ = f"write 1 to {MOST_TRACKS} tracks, and more yards by hand, one file each, with include"
            raise CallError(f"a yard of {plural(self.tracks, 'track')} is not written", help_)
        if self.ends not in (1, 2):
            raise CallError(f"a yard has one end or two, not {self.ends}", "write 1 or 2")
        units_named(self.units)
        self._kind()
        length = self.length or in_units(self.units).track
        try:
            metres = parse(length, DIMENSIONS[Metres])
        except QuantityError as error:
            raise CallError(f"the length of a track: {error.message}", error.help) from None
        if not SHORTEST_M <= metres <= LONGEST_M:
            raise CallError(f"a track of {shown(length)} is not written", f"write {in_units(self.units).bounds}")
        return evolve(self, boards=self._boards(), length=length, name=self.name or "My yard")

    def _kind(self) -> None:
        if self.kind not in KINDS:
            raise CallError(f"a yard is dcc or dc, not {shown(self.kind)}", "write one of the two")
        if self.kind == "dc" and self.boards:
            raise CallError("a yard that cabs feed has no detector boards", "leave the boards out, or write dcc")
        if self.kind == "dc" and not self.isolators:
            raise CallError("the switches of a yard that cabs feed choose the cab", "let each track have one")

    def _boards(self) -> tuple[int, ...]:
        if self.kind == "dc":
            return ()
        need = self.tracks + self.ends
        boards = self.boards or (8,) * ceil(need / 8)
        if len(boards) > _MOST_BOARDS or not all(1 <= one <= _MOST_CHANNELS for one in boards):
            told = f"write the channels of 1 to {_MOST_BOARDS} boards, 1 to {_MOST_CHANNELS} each: 8,8"
            raise CallError(f"boards cannot be {shown(','.join(map(str, boards)))}", told)
        short = need - sum(boards)
        if short > 0:
            more = ",".join(map(str, (*boards, *(boards[-1],) * ceil(short / boards[-1]))))
            told = f"{plural(self.tracks, 'track')} and {plural(self.ends, 'throat')} need {need} channels"
            raise CallError(f"{told}, and the boards have {sum(boards)}", f"write more boards, such as {more}")
        return boards


def units_named(units: str | None) -> str | None:
    """The units, where they are some. Raises CallError."""
    if units not in (None, "metric", "imperial"):
        raise CallError(f"units are metric or imperial, not {shown(units)}", "write one of the two")
    return units


@frozen(kw_only=True)
class End:
    """One end of the yard: its throat, and the letter of its turnouts."""

    block: str
    letter: str
    channel: str


@frozen(kw_only=True)
class _Run:
    """Tracks in a row on one board, and the channel of the first."""

    first: int
    last: int
    board: int
    channel: int


class Yard:
    """Channels are dealt out in the order of the boards: to the tracks, then to the throats."""

    key, fed = "channel", "detected rail"

    def __init__(self, wish: Wish) -> None:
        assert wish.boards is not None
        assert wish.length is not None
        self.wish, self.measures = wish, in_units(wish.units)
        self.count, self.tracks = wish.tracks, range_of("T", 1, wish.tracks)
        self.length_m = parse(wish.length, DIMENSIONS[Metres])
        free = [(board, channel) for board, count in enumerate(wish.boards, 1) for channel in range(1, count + 1)]
        self.used = free[: wish.tracks + wish.ends]
        word = "throat" if wish.tracks > 1 else "lead"
        last = [f"D{board}.{channel}" for board, channel in self.used[wish.tracks :]] or [""] * wish.ends
        self.ends = [
            End(block=f"{side}-{word}", letter=side[0].upper(), channel=channel)
            for side, channel in zip(("west", "east"), last, strict=False)
        ]

    def parts(self, file: str) -> Iterator[str]:
        """The file, part by part."""
        measures, rows = self.measures, [(at, min(at + ROW - 1, self.count)) for at in range(1, self.count + 1, ROW)]
        yield self._begin(file) + parts.head(self.wish.name or "", self.wish.units) + parts.power(measures)
        yield self._detection() + self._track()
        for end in self.ends:
            yield self._ladder(end)
        yield self._joints() + parts.harness(measures)
        if self.wish.isolators:
            yield parts.panel(measures, [[range_of("I", *row)] for row in rows])
        yield from self._vehicles()

    def _begin(self, file: str) -> str:
        ends = "a throat at one end" if len(self.ends) == 1 else "a throat at either end"
        if self.count == 1:
            ends = ends.replace("throat", "lead")
        fed = f"on {plural(len(dict(self.used)), 'board')}" if self.used else "fed by two cabs"
        return f"""\
# A yard of {plural(self.count, "track")} with {ends}, {fed}. Change first what is marked as yours.
#   Is it right?            blockcheck check {file}
#   What does it look like? blockcheck draw {file} > yard.svg
#   What to wire and buy?   blockcheck wires {file}
#   What does a word mean?  blockcheck explain near, and of a key: blockcheck explain blocks.{self.key}
"""

    def _detection(self) -> str:
        assert self.wish.boards is not None
        taken = [(f"D{at}", count, self._spare(at, count)) for at, count in enumerate(self.wish.boards, 1)]
        on = [one for one in taken if len(one[2]) < one[1]]
        return parts.detection(self.measures, on, [name for name, count, spare in taken if len(spare) == count])

    def _spare(self, board: int, count: int) -> range:
        return range(sum(one == board for one, _ in self.used) + 1, count + 1)

    def _runs(self) -> Iterator[_Run]:
        for board in dict(self.used[: self.count]):
            tracks = [at for at, (one, _) in enumerate(self.used[: self.count], 1) if one == board]
            yield _Run(first=tracks[0], last=tracks[-1], board=board, channel=self.used[tracks[0] - 1][1])

    def _track(self) -> str:
        runs = list(self._runs())
        text = section("track")
        text += "# The near end of a block is the one that is nearer to the board by wire; here that is the west end.\n"
        if self.count > 1:
            text += f"# {self.tracks} is a range: {self.count} blocks in one table. A table of its own refines one.\n"
        text += f"""\
[blocks.{self.tracks}]
kind = "storage"  # trains stand here
length = "{self.wish.length}"  # yours; one of another length: [blocks.T1] with its length
group = "yard"  # "yard:1" is its track 1
harness = "yard"
"""
        for run in runs:
            dealt = f"-{run.channel + run.last - run.first}" if run.last > run.first else ""
            header = f"\n[blocks.{range_of('T', run.first, run.last)}]\n" if len(runs) > 1 else ""
            text += f'{header}channel = "D{run.board}.{run.channel}{dealt}"\n'
            text += f'isolator = "{range_of("I", run.first, run.last)}"\n' if self.wish.isolators else ""
        return text + "".join(map(self._throat, self.ends)) + self._switches()

    def _throat(self, end: End) -> str:
        first = end is self.ends[0]
        length = self.measures.metres_told(0.5 + PER_TURNOUT_M * (self.count - 1))
        kind = '"throat"  # turnouts alone; no train stands here' if self.count > 1 else '"running"'
        lead = (
            f'lead = "{self.measures.lead}"  # yours: from the board; where the rest begins follows from the joints\n'
        )
        return f"""
[blocks.{end.block}]
channel = "{end.channel}"
kind = {kind}
length = "{length}"  # yours
harness = "yard"
{lead if first else ""}"""

    def _switches(self) -> str:
        if not self.wish.isolators:
            return f"""
# Without switches no track can be put to sleep. Take this out when they come: isolator = "I1-I{self.count}" above.
[[accept]]
rule = "storage-not-isolatable"
where = "{self.tracks}"
because = "the switches come later"
"""
        names = range_of("I", 1, self.count)
        return f"""
# A switch behind the detector of each track: open, its track is dead and the channel reads clear.
[isolators.{names}]
rating = "5 A"  # yours: of the contact
contact_resistance = "20 mohm"
panel = "fascia"
"""

    def _ladder(self, end: End) -> str:
        turnouts = self.count - 1
        if not turnouts:
            return ""
        letter = end.letter
        names, last = range_of(letter, 1, turnouts), f"T{self.count}"
        told = "is a ladder: each leads on through, and to a track by its diverging leg"
        title = f"turnouts of the {end.block.replace('-', ' ')}"
        text = f"""\
{section(title)}\
# {names} {told if turnouts > 1 else "leads to both tracks"}.
[turnouts.{names}]
block = "{end.block}"
diverging = "{range_of("T", 1, turnouts)}"
routes = false  # yours: true where the points switch the power of their legs
"""
        if turnouts == 1:
            return f'{text}through = "{last}"\n'
        return f"""{text}
[turnouts.{range_of(letter, 1, turnouts - 1)}]
through = "{range_of(letter, 2, turnouts)}"

[turnouts.{letter}{turnouts}]
through = "{last}"  # the last one leads to two tracks
"""

    def _joints(self) -> str:
        text = section("joints")
        text += f"# Far end to near end. The {self.fed} is cut; the other runs through, and is the common return.\n"
        for pair in ((self.ends[0].block, self.tracks), *((self.tracks, end.block) for end in self.ends[1:])):
            text += f'[[joints]]\nblocks = ["{pair[0]}", "{pair[1]}"]\ngap = "detected"\n\n'
        return text

    def _vehicles(self) -> Iterator[str]:
        wagons = min(int((0.8 * self.length_m - ENGINE_M) / WAGON_M), 12)
        yield parts.vehicles(self.measures, wagons > 0)
        made = f"engine = 1, wagon = {wagons}" if wagons > 0 else "engine = 1"
        trains = list(zip(("coal", "parcels", "timber"), range(1, self.count + 1), strict=False))
        yield "\n# Trains, each in its place.\n"
        for name, track in trains:
            yield f'[trains.{name}]\nvehicles = {{ {made} }}\nat = "T{track}"\n\n'
        throats = ", ".join(f'"{end.block}"' for end in self.ends)
        at = range_of("T", 1, len(trains))
        yield section("ways of operating")
        yield "# A scenario is a test of your own: how switches stand, what trains do, and what must come out.\n"
        if self.wish.isolators:
            rest = range_of("T", 2, self.count)
            others = f'open = ["{rest}"]  # all but the first, whose train leaves\n' if self.count > 1 else ""
            yield f"""\
[scenarios.night]
open = ["{self.tracks}"]  # every track sleeps
expect = {{ dead = ["{self.tracks}"], clear = ["{self.tracks}"], lit = [{throats}] }}

[scenarios.departure]
{others}states = {{ coal = "running" }}
expect = {{ lit = ["T1"], occupied = ["T1"] }}
"""
        else:
            yield f"""\
[scenarios.departure]
states = {{ coal = "running" }}
expect = {{ lit = ["{self.tracks}"], occupied = ["{at}"] }}
"""
