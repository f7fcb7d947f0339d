"""A whole yard from a few numbers: one that a booster feeds through detectors, or one that two cabs feed."""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.answers.start import parts
from blockcheck.answers.start.parts import aligned, range_of, section
from blockcheck.answers.start.yard import ENGINE_M, PER_TURNOUT_M, ROW, WAGON_M, End, Wish, Yard

_CABS = ("cab-a", "cab-b")


def yard_text(wish: Wish, file: str) -> str:
    """The file of a yard. Raises CallError for one that cannot be."""
    made = wish.settled()
    return aligned((_CabYard if made.kind == "dc" else Yard)(made).parts(file))


class _CabYard(Yard):
    """Direct current: a switch for each block hands it to one cab, to the other, or to none. Whoever drives looks."""

    key, fed = "undetected", "rail that the cabs feed"

    def parts(self, file: str) -> Iterator[str]:
        """The file, part by part."""
        measures, rows = self.measures, [(at, min(at + ROW - 1, self.count)) for at in range(1, self.count + 1, ROW)]
        yield self._begin(file) + parts.head(self.wish.name or "", self.wish.units, "dc") + self._cabs()
        yield self._blocks() + self._cab_switches()
        for end in self.ends:
            yield self._ladder(end)
        yield self._joints() + parts.harness(measures, begins="switch")
        switches = [list(map(self._switch, self.ends)), *([range_of("X", *row)] for row in rows)]
        yield parts.panel(measures, switches, "a cab")
        yield from self._engines()

    @staticmethod
    def _switch(end: End) -> str:
        return f"X-{end.letter}"

    def _cabs(self) -> str:
        text = section("power: a cab is a booster with a district of its own")
        text += """\
# Track power can start a fire: every cab needs its own protection. Mains wiring is outside this file: local codes and
# licensed electricians decide. Both cabs share one return, the rail that is not cut: give each a supply of its own, or
# they short it as soon as they drive opposite ways (common practice, no source).
"""
        for cab in _CABS:
            text += f"""\
[boosters.{cab}]
voltage = "12 V"  # yours: track voltage without load, at full throttle
current = "1.5 A"  # yours: what it delivers all evening
trip = "2 A"  # yours: where it cuts off ...
delay = "0.2 s"  # ... and how long it bears more
resistance = "0.05 ohm"  # yours: of its output

[districts.{cab}-track]
booster = "{cab}"
feed = {{ wire = "{self.measures.feed}", length = "{self.measures.feed_length}" }}  # yours: the pair to the yard

"""
        return text

    def _blocks(self) -> str:
        text = section("track")
        if self.count > 1:
            text += f"# {self.tracks} is a range: {self.count} blocks in one table. A table of its own refines one.\n"
        text += f"""\
[blocks.{self.tracks}]
undetected = "driven by eye"
isolator = "{range_of("X", 1, self.count)}"
kind = "storage"  # trains stand here
length = "{self.wish.length}"  # yours; one of another length: [blocks.T1] with its length
group = "yard"  # "yard:1" is its track 1
harness = "yard"
"""
        for end in self.ends:
            text += f"""
[blocks.{end.block}]
undetected = "driven by eye"
isolator = "{self._switch(end)}"
kind = {'"throat"  # turnouts alone; no train stands here' if self.count > 1 else '"running"'}
length = "{self.measures.metres_told(0.5 + PER_TURNOUT_M * (self.count - 1))}"  # yours
harness = "yard"
"""
            if end is self.ends[0]:
                text += f'lead = "{self.measures.lead}"  # yours: from the switches; where the rest begins follows\n'
        return text

    def _cab_switches(self) -> str:
        between = ", ".join(f'"{cab}-track"' for cab in _CABS)
        text = section("cab switches") + "# A changeover chooses between two cabs, and its centre is off.\n"
        named = [(range_of("X", 1, self.count), "off", "  # dead until somebody wants it")]
        named += [(self._switch(end), f"{_CABS[0]}-track", "") for end in self.ends]
        for names, usually, why in named:
            text += f"""\
[isolators.{names}]
contact = "changeover"
between = [{between}]
usually = "{usually}"{why}
rating = "5 A"  # yours: of the contact
contact_resistance = "20 mohm"
panel = "fascia"

"""
        return text

    def _engines(self) -> Iterator[str]:
        wagons = min(int((0.8 * self.length_m - ENGINE_M) / WAGON_M), 12)
        wagon = f'[loads.wagon]\nlength = "{self.measures.wagon}"\n\n' if wagons > 0 else ""
        yield (
            section("vehicles")
            + f"""\
# Under dc a locomotive that stands has no voltage, and draws nothing: common practice, no source. Yours.
[loads.engine]
locomotive = true
idle = "0 A"
running = "0.4 A"
stalled = "1.2 A"
length = "{self.measures.engine}"

{wagon}"""
        )
        made = f"engine = 1, wagon = {wagons}" if wagons > 0 else "engine = 1"
        for name, track in zip(("coal", "parcels"), range(1, self.count + 1), strict=False):
            yield f'[trains.{name}]\nvehicles = {{ {made} }}\nat = "T{track}"\n\n'
        throats, one, other = ", ".join(f'"{end.block}"' for end in self.ends), *(f"{cab}-track" for cab in _CABS)
        rest = f', dead = ["{range_of("T", 2, self.count)}"]' if self.count > 1 else ""
        yield (
            section("ways of operating")
            + f"""\
# A scenario is a test of your own: how switches stand, what trains do, and what must come out.
[scenarios.departure]
set = {{ X1 = "{one}" }}
states = {{ coal = "running" }}
expect = {{ lit = ["T1", {throats}]{rest} }}

[scenarios.closed]
open = ["{range_of("X", 1, self.count)}", {", ".join(f'"{self._switch(end)}"' for end in self.ends)}]
expect = {{ dead = ["{self.tracks}", {throats}] }}
"""
        )
        if self.count > 1 and len(self.ends) > 1:
            yield f"""
[scenarios.two-up]
set = {{ X1 = "{one}", X2 = "{other}", {self._switch(self.ends[1])} = "{other}" }}
states = {{ coal = "running", parcels = "running" }}
expect = {{ lit = ["T1", "T2", {throats}] }}
"""
