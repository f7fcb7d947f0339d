"""Where a label leads: both ends of its wire, what is beside it, the way of the current, and what test looks there."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Brief, Document, Facts, Lines, Part, Says
from blockcheck.circuit.terminals import SOLDER
from blockcheck.core.columns import column
from blockcheck.core.words import cut_short, plural
from blockcheck.model.quantities import DIMENSIONS, Metres, show

MOST_NAMED = 12
"""More blocks are counted, not named."""


@frozen
class WireHere:
    """One piece of wire, from the end that was asked for."""

    here: str = column("Terminal at this end.")
    label: str = column("Label at this end.")
    fixing: str = column("How this end is fixed: crimped and under a screw, tapped onto a bus, or soldered.")
    strip: str | None = column("The strip that this terminal is on; null where it is on none.")
    position: int | None = column("Its number on that strip.")
    leads_to: str = column("Terminal at the other end.", title="leads to")
    label_there: str = column("Label at the other end.", title="label there")
    fixing_there: str = column("How the other end is fixed.", title="fixed there")
    kind: str = column("What it is for.")
    colour: str | None = column("Insulation colour.")
    size: str | None = column("Its size, or the conductor as the layout has it.")
    length_m: float | None = column("Length of its way.")
    cut_m: float | None = column("Length to cut, the allowance added.")
    at_m: float | None = column("Place of a drop, from the block's near end.")


@frozen
class Beside:
    """What is next to a terminal on its strip."""

    strip: str = column("The strip.")
    position: int = column("Number on it.", least=1)
    terminal: str = column("Its name.")
    on_it: tuple[str, ...] = column("The labels on it; none where nothing is there.", title="wires")


@frozen
class LooksThere:
    """The first step of the test sheet that looks at it. ``step`` is its number, where the sheet is of one piece."""

    id: str = column("What trace knows it by.")
    step: int | None = column("Its number on the sheet; null where that is made unit by unit.")
    title: str = column("What it is about.")
    do: str = column("What to do.")
    red: str = column("Where the red probe goes.")
    black: str = column("Where the black probe goes.")
    expect: str = column("What to read.")

    @property
    def probes(self) -> bool:
        """Whether what to do leaves it to be told where the probes go."""
        return self.do.endswith("from red to black.")


@frozen
class WhereAnswer(Answer):
    """Where a label leads. ``asked`` is what was found of it: a label, a terminal, or a part of the layout."""

    command = "where"

    layout: str = column("Name of the layout.")
    asked: str = column("The label, terminal or part that was asked for.")
    what: str = column("What it is.")
    blocks: tuple[str, ...] = column("The blocks that it serves.")
    district: str | None = column("The district of those blocks; null where there are none, or several.")
    wires: tuple[WireHere, ...] = column("The wires that end there.")
    beside: tuple[Beside, ...] = column("What is next to it on its strip.")
    comes: tuple[str, ...] = column("Terminals on the way of the current from the booster to the first of the blocks.")
    returns: tuple[str, ...] = column("Its way back: the common bus, and terminals.")
    test: LooksThere | None = column("The first step of the test sheet that looks there; null where none does.")
    imperial: bool = False

    def document(self) -> Document:
        """The wires from this end, then what they belong to."""
        fields = ("here", "label", "leads_to", "label_there", "kind", "colour", "size", "length_m", "fixing")
        wires = table("", WireHere, self.wires, fields=fields, imperial=self.imperial)
        return Document(
            f"Where {self.asked} leads",
            self.layout,
            (Says((f"{self.asked}: {self.what}.",)), wires, *self.parts(), Says((CAUTION,), "caution")),
            (table("Wires", WireHere, self.wires),),
            imperial=self.imperial,
        )

    def parts(self) -> Iterator[Part]:
        """Where it is, what it serves, the way of the current, and the test."""
        rows = [*self.facts()]
        yield Brief([Facts(rows, grid=True)], [Lines("", (f"{head}: {told}" for head, told in rows), dashes=True)])

    def facts(self) -> Iterator[tuple[str, str]]:
        """Each in words, with what it is about."""
        if self.beside:
            yield "Beside it", "; ".join(map(_beside, self.beside))
        spots = {one.here: one.at_m for one in self.wires if one.fixing == SOLDER and one.at_m is not None}
        for here, at_m in spots.items() if len(self.wires) == 1 else ():
            yield f"{here} is", f"{show(at_m, DIMENSIONS[Metres], self.imperial)} from the near end"
        if self.blocks:
            several = f"{plural(len(self.blocks), 'block')}, " if len(self.blocks) > 1 else ""
            district = f"; district {self.district}" if self.district is not None else ""
            yield "Serves", f"{several}{cut_short(self.blocks, MOST_NAMED)}{district}"
        if self.comes:
            first = f" of {self.blocks[0]}" if len(self.blocks) > 1 else ""
            yield f"Current{first}", " > ".join(self.comes)
            yield "And back", " > ".join(self.returns)
        if self.test is not None:
            number = f"step {self.test.step}, " if self.test.step is not None else ""
            probes = f" Red on {self.test.red}, black on {self.test.black}." if self.test.probes else ""
            told = f"{self.test.title}. {self.test.do}{probes} Expect: {self.test.expect}."
            yield "Next test", f"{number}{told}"


def _beside(one: Beside) -> str:
    on_it = f" ({', '.join(one.on_it)})" if one.on_it else " (nothing on it)"
    return f"terminal {one.position} is {one.terminal}{on_it}"
