"""A piece of wire with its two ends, as the wire list has it."""

from __future__ import annotations

from attrs import frozen

from blockcheck.answers.workshop.strips import NOT_GIVEN
from blockcheck.circuit.terminals import SCREW, SOLDER, TAP
from blockcheck.core.columns import column

_KINDS = (
    *("breaker", "polarity", "feed", "return", "tie", "throw", "return throw", "bank"),
    *("channel", "switch", "common switch", "panel", "bus", "common", "drop", "frog", "frog tie", "run"),
)
_FIXINGS = (SCREW, TAP, SOLDER)


@frozen
class End:
    """One end of a piece: its terminal, the label that it bears, and how it is fixed (screw, tap or solder)."""

    terminal: str
    label: str
    fixing: str


@frozen
class Piece:
    """One piece of wire, cut in one length; a length or a conductor that the layout does not give is None."""

    wire: int = column("Number of the wire that it is a piece of, in the order of the list.", least=1)
    kind: str = column("What it is for.", choices=_KINDS)
    subject: str = column(
        "The part of the layout that it belongs to: a district, board, isolator, block, harness, turnout or run."
    )
    number: int = column("Its number along the wire, from the board's end.", least=1, key="piece")
    pieces: int = column("How many pieces the wire is cut into at the bench-work joints.", least=1)
    from_: str = column("Terminal at its first end.")
    to: str = column("Terminal at its other end.")
    label_from: str = column("Label at its first end: where that end belongs, and where it comes from.")
    label_to: str = column("Label at its other end.")
    fixing_from: str = column(
        "How its first end is fixed: crimped and under a screw, tapped onto a bus, or soldered.", choices=_FIXINGS
    )
    fixing_to: str = column("How its other end is fixed.", choices=_FIXINGS)
    conductor: str | None = column("Its conductor as the layout has it: a size or the name of a wire.")
    size: str | None = column("The size of that conductor.")
    colour: str | None = column("Insulation colour.")
    length_m: float | None = column("Length of its way.")
    cut_m: float | None = column("Length to cut, the allowance added.")
    at_m: float | None = column("Place of a drop, from the block's near end.")
    rail: str | None = column("The rail that it feeds.", choices=("detected", "common"))
    crimps: int = column(
        "Crimps on its ends, and as many screw terminals.",
        least=0,
        of=lambda piece: (piece.fixing_from, piece.fixing_to).count(SCREW),
    )
    purpose: str | None = column("What a run is for.", key="for")

    @property
    def start(self) -> End:
        """Its first end."""
        return End(self.from_, self.label_from, self.fixing_from)

    @property
    def end(self) -> End:
        """Its other end."""
        return End(self.to, self.label_to, self.fixing_to)


def conductor_of(conductor: str | None, size: str | None) -> str:
    """A conductor for people: its name with its size."""
    if conductor is None:
        return NOT_GIVEN
    return conductor if size in (None, conductor) else f"{conductor} ({size})"
