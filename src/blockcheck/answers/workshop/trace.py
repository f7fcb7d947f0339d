"""Which wiring faults explain the readings that were taken."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from attrs import asdict, evolve, frozen

from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Document, Item, Lines, Says
from blockcheck.answers.workshop.drift import Drift
from blockcheck.core.columns import column
from blockcheck.core.natural import condensed
from blockcheck.core.words import listed, plural

if TYPE_CHECKING:
    pass

MOST_SHOWN = 10
MOST_READINGS = 6
"""Of a candidate, which plain text shows."""
MOST_PAIRS = 800
"""Pairs of faults that are looked at where no single one explains everything."""
MOST_LIKELY = 0.5
"""No cause is called likelier than this while it leaves a reading unexplained."""
WORTH_TELLING = 0.05
"""A factor of rail or wire is told from so far off its table."""
NEARER = 2.0
"""So much more log likelihood than wiring that is right makes a cause worth telling that explains no reading whole."""
UNLIKELY = 1e-3
"""What is less likely than this is not told, unless it is tied first."""


@frozen
class Told:
    """One reading beside what a candidate, and wiring that is right, would give; ``fits`` says whether it fits."""

    id: str = column("The test.", only="programs")
    title: str = column("What it is about.", title="test")
    read: str = column("What was read.")
    predicted: str = column("What the candidate predicts.")
    expected: str = column("What would be right.", title="right would be")
    fits: bool = column("Whether the reading fits the prediction, within the tolerance.")

    @property
    def words(self) -> str:
        """The reading beside its predictions."""
        if not self.fits:
            return f"{self.title}: read {self.read}, but this predicts {self.predicted}"
        told = f"read {self.read}, as this predicts ({self.predicted})"
        return f"{self.title}: {told}; right would be {self.expected}"


@frozen
class SuspectFault:
    """A fault of a candidate."""

    fault: str = column("Its id.")
    kind: str = column("Its kind.")
    words: str = column("What is wrong.")
    look: str = column("Where to look first.")


@frozen
class Candidate:
    """What may be wrong: no fault (``faults`` is empty), one, or two. ``rank`` 1 is the best; equals share a rank.

    ``explained`` of ``of`` readings fit; ``likelihood`` is its share among all that was looked at. ``readings`` holds
    those that it, or they, have something to say about; ``same`` the causes that no test at all tells from it.
    """

    rank: int = column("Its rank; equals share one.", least=1)
    told: tuple[SuspectFault, ...] = column("None where nothing is wrong, else one or two.", key="faults")
    explained: int = column("How many readings it explains.", least=0)
    of: int = column("Of how many.", least=0)
    likelihood: float = column("Its share of the likelihood of all that was looked at, up to 1.", least=0)
    readings: tuple[Told, ...] = column("The readings that it has something to say about.")
    same: tuple[str, ...] = column("Other causes that no test on the rails tells from it.", default=())
    rests: str | None = column("The test whose reading alone speaks for one of its faults; else null.", default=None)

    @property
    def faults(self) -> tuple[str, ...]:
        """The ids of its faults."""
        return tuple(one.fault for one in self.told)

    def item(self, number: int, tied: bool) -> Item:
        """As people read it."""
        cause = "; and ".join(one.words for one in self.told) or "nothing is wrong"
        share = self.likelihood * 100
        shown = f"{share:.0f} %" if share >= 1 else "less than 1 %"
        facts = f"explains {self.explained} of {self.of} readings; likelihood {shown}"
        lines = [("tied first; " if tied and self.rank == 1 else "") + facts]
        lines += [f"look first: {'; and '.join(one.look for one in self.told)}"] if self.told else []
        lines += [f"no test tells this from it: {one}" for one in self.same]
        lines += [f"one reading alone speaks for one of these faults: {self.rests}"] if self.rests else []
        more = len(self.readings) - MOST_READINGS
        brief = [row.words for row in self.readings[:MOST_READINGS]] + ([f"and {more} more"] if more > 0 else [])
        rows = [{**asdict(row), "fits": "yes" if row.fits else "no"} for row in self.readings]
        readings = evolve(table("", Told, rows), brief=brief) if rows else None
        return Item(number, cause[:1].upper() + cause[1:], lines, readings)


@frozen
class MaterialFactor:
    """How rail or wire of a kind, or the joints or contacts, differ from what the layout says."""

    kind: str = column("What: rail or wire of a kind, joints, contacts.")
    factor: float = column("Its ohms, fitted to the readings, against those of the layout.", least=0)

    @property
    def words(self) -> str:
        """As a sentence has it."""
        share = abs(self.factor - 1) * 100
        return f"{self.kind} {share:.0f} % {'more' if self.factor > 1 else 'less'} than reckoned with"


@frozen
class Prediction:
    """A reading, and the candidates that predict it."""

    reading: str = column("The reading.")
    candidates: tuple[int, ...] = column("The candidates that predict it, by their place in the list, from 1.")


@frozen
class NextTest:
    """The test that would split the candidates best."""

    id: str = column("What trace knows it by.")
    title: str = column("What it is about.")
    do: str = column("What to do.")
    red: str = column("Where the red probe goes.")
    black: str = column("Where the black probe goes.")
    predictions: tuple[Prediction, ...] = column("What the candidates predict for it.")

    def lines(self) -> Iterator[str]:
        """The test, and what each candidate predicts for it."""
        yield f"{self.title} ({self.id})"
        yield self.do
        if self.do.endswith("from red to black."):
            yield f"Red on {self.red}, black on {self.black}."
        for one in self.predictions:
            yield f"{one.reading}: candidate {listed([*map(str, one.candidates)])}"


@frozen
class TraceAnswer(Answer):
    """The candidates, the best first. ``tied`` of them cannot be told apart by the readings that were taken.

    ``off`` are the readings that are not as expected, and ``again`` those that the best candidate leaves unexplained.
    ``unlisted`` is the likelihood of something that is not on the list, ``material`` what was fitted before any fault.
    ``single`` counts the single faults looked at, ``pairs`` those of ``all_pairs``; fewer: the search was cut short.
    """

    command = "trace"

    layout: str = column("Name of the layout.")
    tolerance: Tolerance = column("How far a reading may lie from what it should be and still be right.")
    taken: int = column("How many readings were filled in.", least=0)
    off: tuple[Told, ...] = column("The readings that are not as expected.")
    candidates: tuple[Candidate, ...] = column("What may be wrong, the best first.")
    tied: int = column("How many of the first candidates cannot be told apart by the readings taken.", least=0)
    single: int = column("How many single faults were looked at.", least=0)
    pairs: int = column("How many pairs of faults were looked at.", least=0)
    all_pairs: int = column("How many pairs might have been: where it is more, the search was cut short.", least=0)
    next: NextTest | None = column("The test that would split the candidates best; null where none would.")
    unlisted: float = column("The likelihood that something is wrong that is not on the list.", default=0.0, least=0)
    again: tuple[Told, ...] = column(
        "Readings that the best candidate leaves unexplained: make them again.", default=()
    )
    material: tuple[MaterialFactor, ...] = column(
        "How rail, wire, joints and contacts differ from the layout.", default=()
    )

    drifted: tuple[Drift, ...] | None = column(
        "What reads otherwise than in the readings before; null where none were given.", default=None
    )

    left: tuple[str, ...] = column("Blocks that were to be searched for faults, and time ran out.", default=())

    @property
    def right(self) -> bool:
        """Whether wiring that is right explains every reading, and best."""
        return bool(self.candidates) and not self.off and not self.candidates[0].faults and self.tied >= 1

    def document(self) -> Document:
        """The candidates, the best first, and the next test."""
        alike = self.tied > 1 and not self.right and self.next is None
        return Document(
            "Readings explained",
            self.layout,
            (
                *(Says((one,)) for one in self.verdict()),
                *(one.item(number, self.tied > 1) for number, one in enumerate(self.candidates, 1)),
                Lines("Changed since the readings before", (one.words for one in self.drifted or ()), dashes=True),
                Lines("Make again", (f"{one.title} ({one.id})" for one in self.again[:MOST_READINGS]), dashes=True),
                Lines("Next test", self.next.lines() if self.next is not None else (), dashes=True),
                Says(
                    ("No other test tells the leading candidates apart: look at each place in turn.",) if alike else ()
                ),
                Says((CAUTION,), "caution"),
            ),
        )

    def verdict(self) -> Iterator[str]:
        """The answer in a sentence or two."""
        if not self.taken:
            yield "No reading has been filled in yet: make the tests in the order of the sheet, and ask again."
            return
        yield f"{plural(self.taken, 'reading')}, {len(self.off)} not as expected, within {self.tolerance.words}."
        if self.left:
            where = listed(condensed(self.left), 8)
            yield f"Out of time: no fault was looked for at {where}; give it more with --seconds."
        if self.drifted is not None:
            yield f"{len(self.drifted) or 'None'} of them read otherwise than in the readings before."
        kinds = [one for one in self.material if one.kind.startswith(("rail", "wire"))]  # joints are as they are made
        told = [one.words for one in kinds if abs(one.factor - 1) >= WORTH_TELLING]
        if told:
            yield f"The readings fit best with {listed(told)}: that is material, and no fault."
        best = self.candidates[0]
        if self.all_pairs > self.pairs:
            yield (
                f"No single fault explains all. Of {self.all_pairs:,} pairs of faults that each explain something, the "
                f"{self.pairs:,} likeliest were looked at: the search was cut short there."
            )
        elif self.pairs:
            yield f"No single fault explains all; {plural(self.pairs, 'pair')} of faults were looked at too."
        if self.right and self.tied == 1:
            yield "The wiring is right, as far as these readings tell."
        elif self.right:
            words = plural(self.tied - 1, "fault")
            yield f"Nothing speaks against wiring that is right; {words} would read the same so far."
        elif any(one.rests for one in self.candidates[: self.tied]):
            yield (
                "One reading alone speaks for a second fault, or it is a slip: make it again first. "
                "Until then the cause without that reading stands first:"
            )
        elif best.explained < best.of or self.unlisted > best.likelihood:
            yield "Nothing on the list explains every reading. Look where the readings are off; these come nearest:"
        elif self.tied > 1:
            yield f"{self.tied} causes explain every reading, and cannot be told apart by them:"
        else:
            yield "One cause explains every reading:"
