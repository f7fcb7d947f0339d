"""How well readings are traced to their fault, and what it costs. Prints figures; it is no test.

    python -m tests.benchmarks.trace [FAULTS] [SORT ...]

Faults of all kinds and sizes are put into layouts of a second model (`tests/second_faults.py`), whose rail is off by up
to a quarter, each conductor by an eighth, whose joints have half to twice what is reckoned with, and whose meter has
2 % and a milliohm of noise. A number is how many of each sort are put in; words pick the sorts that have them in their
names. What is found of a yard by a beeper and a test axle alone is asked of what the sheet says that it sees. Set
OPENBLAS_NUM_THREADS=1 on a busy machine.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property, reduce
from pathlib import Path
from typing import Any

import numpy as np
from attrs import frozen

from blockcheck import api
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.sheet import Sheet
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import BEEPS_OHM, Beep, Step
from blockcheck.analysis.trace.suspects import Judge, Search
from blockcheck.answers.workshop.trace import MOST_LIKELY
from blockcheck.network.built import Change
from tests.second_faults import Second
from tests.second_model import shown_by_a_meter

SMALL = Path(__file__).parents[2] / "examples/small-yard/yard.toml"
OTHER = (
    ('"Ropewalk sidings"', '"Tannery sidings"'),
    ('voltage = "15 V"', 'voltage = "14 V"'),
    ('threshold = "0.5 mA"', 'threshold = "1 mA"'),
    ('length = "2.4 m"', 'length = "1.9 m"'),
    ('length = "2.7 m"', 'length = "3.1 m"'),
    ('length = "3.0 m"', 'length = "3.6 m"'),
    ('gap = "detected"', 'gap = "both"'),
    ('bus = "1.5 mm2"', 'bus = "2.5 mm2"'),
    ('common = "2.5 mm2"', 'common = "4 mm2"'),
    ('feeder = "0.5 mm2"', 'feeder = "0.75 mm2"'),
    ('feeder_spacing = "1.2 m"', 'feeder_spacing = "0.9 m"'),
    ('segment = "1.2 m"', 'segment = "1.5 m"'),
    ('joint_resistance = "2 mohm"', 'joint_resistance = "3 mohm"'),
    ('rail = "code83"', 'rail = "code70"'),
)
"""What makes another yard of the small example: other lengths, wires and drops, and gaps in both rails."""
SIZES = {
    "bus-joint-poor": (0.06, 5.0),
    "drop-poor": (0.06, 5.0),
    "rail-joint-poor": (0.1, 5.0),
    "gap-bridged": (0.05, 50.0),
    "bus-touches-common": (0.01, 2.0),
    "ballast-wet": (200.0, 20_000.0),
}
"""Kind -> the sizes, in ohms, of which those of a trial are drawn evenly by their logarithm."""
METER = Tolerance(0.04, 0.002, 0.3)
MATERIAL = {"rail": 1.33, **dict.fromkeys(("0.5 mm2", "0.75 mm2", "1.5 mm2", "2.5 mm2", "4 mm2"), 1.16)}
"""Rail a third off and wire a sixth: nothing is wrong."""


@frozen(eq=False, repr=False, slots=False)
class Trials:
    """A layout, the faults that are searched for, and the steps of its sheet with every gap metered."""

    text: str
    bench: Bench
    faults: tuple[Fault, ...]
    pool: tuple[Step, ...]

    @classmethod
    def of(cls, text: str) -> Trials:
        study = api.loads(text)
        bench = Bench.of(study)
        ids = [step.id for step in api.bench(study, at_hand=("axle", "supply"), each=True).steps]
        ids += [step.id for step in bench.tests if step.id.startswith(("rails.", "joint."))]
        return cls(text, bench, causes(bench), tuple(bench.by_id[one] for one in dict.fromkeys(ids)))

    def run(
        self,
        chance: random.Random,
        faults: int,
        missing: float = 0.0,
        factors: dict[str, float] | None = None,
        misread: float = 0.0,
        unlisted: bool = False,
    ) -> Trial:
        """Some faults of random kinds, places and sizes, and what trace makes of their readings.

        ``missing`` is the share of readings that are left out, ``misread`` of those that mean nothing; ``unlisted``:
        the kind of the fault is taken off the list.
        """
        seed = chance.random()
        yard = Second(self.text, random.Random(seed), factors)
        put = tuple(self.faulty(chance, yard, faults))
        change = reduce(Change.also, (one for _, one in put), Change())
        steps = [step for step in self.pool if chance.random() >= missing]
        read = [self.read(yard, one) for one in steps]
        seen = True
        if missing:
            sound = Second(self.text, random.Random(seed), factors)
            seen = any(differs(one, self.read(sound, step)) for one, step in zip(read, steps, strict=True))
        shown = [shown_by_a_meter(one, chance) for one in read]
        wrong = [at for at in range(len(steps)) if chance.random() < misread]
        for at in wrong:
            shown[at] = slipped(shown[at], chance)
        kinds = {one.kind for one, _ in put} if unlisted else set()
        listed = [one for one in self.faults if one.kind not in kinds]
        search = Judge(self.bench, tuple(steps), tuple(shown), METER).search(listed, 800)
        true = tuple(sorted(one.id for one, _ in put))
        return Trial(true, search, Wrong(self.bench, tuple(steps), change), seen, tuple(wrong))

    def read(self, yard: Second, step: Step) -> float | frozenset[str]:
        """A reading before the meter has added to it."""
        return yard.read(step.id, step.kind, {**self.bench.state, **dict(step.state)}, step.across)

    def faulty(self, chance: random.Random, yard: Second, count: int) -> Iterator[tuple[Fault, Change]]:
        """Faults put into a yard: none is of a thing that has one, since the second would hide the first."""
        kinds, put = sorted({one.kind for one in self.faults}), list[Fault]()
        while len(put) < count:
            kind = chance.choice(kinds)
            fault = chance.choice([one for one in self.faults if one.kind == kind])
            if any(fault.change.touched & one.change.touched or fault.subjects == one.subjects for one in put):
                continue
            low, high = (math.log(one) for one in SIZES.get(kind, (1.0, 1.0)))
            solid = kind == "gap-bridged" and chance.random() < 0.5
            ohms = 0.0 if solid else math.exp(chance.uniform(low, high))
            yard.break_(fault.id, ohms, fault.guess)
            put.append(fault)
            yield fault, fault.change if fault.size is None else fault.size.change(ohms)

    @cached_property
    def sheet(self) -> tuple[tuple[Step, str], ...]:
        """The sheet for a beeper and a test axle, with what each step is made with."""
        return tuple((self.bench.by_id[one.id], one.instrument) for one in api.bench(self.bench.study).steps)

    @cached_property
    def heard(self) -> tuple[tuple[Fault, float], ...]:
        """The faults that this sheet says it sees, each at the sizes at which it does."""
        sheet = Sheet(self.bench, self.bench.tests, ("beeper", "axle"), Tolerance())
        own = {(step.id, instrument) for step, instrument in self.sheet}
        rows = [n for n, way in enumerate(sheet.ways) if (sheet.steps[way.test].id, way.instrument) in own]
        found: list[bool] = np.asarray(sheet.seen[rows].any(axis=0)).tolist()
        sizes = [ohms for fault in causes(self.bench) for ohms in (fault.size.typical if fault.size else (0.0,))]
        return tuple((fault, ohms) for (fault, _), ohms, one in zip(sheet.cases, sizes, found, strict=True) if one)

    def hear(self, chance: random.Random) -> Trial:
        """A fault that a beeper and a test axle see, and what trace makes of that sheet."""
        yard = Second(self.text, chance)
        fault, ohms = chance.choice(self.heard)
        yard.break_(fault.id, ohms, fault.guess)
        read = [(self.read(yard, step), instrument) for step, instrument in self.sheet]
        values = tuple(
            Beep(one <= BEEPS_OHM) if isinstance(one, float) and instrument == "beeper" else one
            for one, instrument in read
        )
        steps = tuple(step for step, _ in self.sheet)
        search = Judge(self.bench, steps, values, METER).search(self.faults, 800)
        change = fault.change if fault.size is None else fault.size.change(ohms)
        return Trial((fault.id,), search, Wrong(self.bench, steps, change))


def differs(one: float | frozenset[str], other: float | frozenset[str]) -> bool:
    """Whether a reading tells a fault from none: three standard deviations of the meter."""
    if not isinstance(one, float) or not isinstance(other, float):
        return one != other
    return abs(one - other) > 3 * (0.02 * min(one, other) + 0.001)


def slipped(value: float | frozenset[str], chance: random.Random) -> float | frozenset[str]:
    """A reading that means nothing: a wrong decade, no contact, a channel overlooked."""
    if not isinstance(value, float):
        return frozenset(sorted(value)[1:]) if value else frozenset({"D1.1"})
    return chance.choice([value * 10, value / 10, 1e5]) if value < 1e5 else chance.choice([0.1, 1.0])


@frozen(eq=False, repr=False)
class Wrong:
    """What was wrong with a yard, as what it changes."""

    bench: Bench
    steps: tuple[Step, ...]
    change: Change

    def beside(self, other: Change) -> str:
        """What this changes on the sheet, whether another change does the same, and what would tell them apart."""
        own = {step.id for step in self.steps}
        tests = (*self.steps, *(one for one in (*self.bench.tests, *self.bench.further) if one.id not in own))
        told = predict(self.bench, tests, [self.change, other])
        rows = range(len(tests))
        moved = [at for at in rows[: len(own)] if deviations(told.value(at, 0), told.value(at, 1)) > 3]
        apart = {at: deviations(told.value(at, 1), told.value(at, 2)) for at in rows}
        changes = f"it changes {len(moved)} readings" + (f" ({names(tests[at].id for at in moved)})" if moved else "")
        most = max(apart[at] for at in rows[: len(own)])
        if most > 3:
            return (
                f"{changes}; {names(tests[at].id for at in rows[: len(own)] if apart[at] > 3)} differ between the two"
            )
        more = names(tests[at].id for at in rows[len(own) :] if apart[at] > 3)
        tells = f"{more} would tell" if more else "nor would any other test"
        return f"{changes}, and both change them alike, within {most:.1f} standard deviations: cannot be told; {tells}"


def names(ids: Iterable[str]) -> str:
    """The first few."""
    found = [*ids]
    return ", ".join(found[:3]) + (f" and {len(found) - 3} more" if len(found) > 3 else "")


def deviations(one: float | Names, other: float | Names) -> float:
    """How far two readings are apart, in standard deviations of the meter."""
    if isinstance(one, Names) or isinstance(other, Names):
        assert isinstance(one, Names)
        assert isinstance(other, Names)
        return math.inf if one.differs(other) else 0.0
    return abs(one - other) / (0.02 * min(one, other) + 0.001)


@frozen(eq=False, repr=False)
class Trial:
    """What was wrong, and what was made of it."""

    true: tuple[str, ...]
    search: Search
    what: Wrong
    seen: bool = True
    """Whether the readings that were taken tell it from wiring that is right."""
    wrong: tuple[int, ...] = ()
    """The readings that mean nothing."""

    @property
    def place(self) -> int:
        """The place of the true cause, 1 for the first; what no test tells from it is one with it."""
        for at, one in enumerate(self.search.suspects, 1):
            if self.true in {one.ids, *(tuple(sorted(fault.id for fault in other)) for other in one.others)}:
                return at
        return sys.maxsize

    @property
    def tied(self) -> bool:
        """Whether it is first, or told as tied with the first."""
        return self.place <= max(self.search.tied, 1)

    @property
    def told(self) -> float:
        """How likely the first is called."""
        best = self.search.suspects[0]
        return min(best.share, MOST_LIKELY) if best.against else best.share

    @property
    def why(self) -> str:
        """Why it was not told first, by what it changes and what that which was told changes."""
        best = self.search.suspects[0]
        told = ", ".join(best.ids) or "wiring that is right"
        slips = f" ({len(self.wrong)} readings mean nothing)" if self.wrong else ""
        return f"{', '.join(self.true)}, told was {told}{slips}: {self.what.beside(best.change)}"

    @property
    def asks_again(self) -> bool:
        """Whether the next step is to repeat a reading that was a slip, where the first leaves any unexplained."""
        fits = self.search.suspects[0].fits
        return any(not fits[at] for at in self.wrong)


def figures(trials: Sequence[Trial]) -> str:
    """Shares in words."""
    count = len(trials)
    if not count:
        return "0"
    first, tied, three = (
        sum(map(bool, some)) / count
        for some in zip(*((one.place == 1, one.tied, one.place <= 3) for one in trials), strict=True)
    )
    sure = [one for one in trials if one.told >= 0.8]
    right = sum(one.tied for one in sure)
    slips, again = sum(bool(one.wrong) for one in trials), sum(one.asks_again for one in trials)
    above = sum(one.told > MOST_LIKELY and one.search.suspects[0].against > 0 for one in trials)
    return (
        f"{count}: first {first:.0%}, first or tied {tied:.0%}, first three {three:.0%}; "
        f"told with 80 % or more {len(sure)}, right {right}"
        + (f"; a slip is asked for again in {again} of {slips}" if slips else "")
        + (f"; told with more than half while a reading is unexplained {above}" if above else "")
    )


def sorts(trials: Trials, count: int) -> Iterator[tuple[str, Callable[[], list[Trial]]]]:
    """Every sort of trial, so many of each; pairs, sound yards and what is left out a third."""
    some = max(count // 3, 1)

    def times(number: int, seed: int, **how: Any) -> Callable[[], list[Trial]]:
        chance = random.Random(seed)
        return lambda: [trials.run(chance, **how) for _ in range(number)]

    yield "single faults", times(count, 1, faults=1)
    third = times(some, 2, faults=1, missing=1 / 3)
    yield "a third of the readings left out, of those still seen", lambda: [one for one in third() if one.seen]
    yield "two faults", times(some, 3, faults=2)
    yield "nothing wrong", times(some, 4, faults=0)
    yield "nothing wrong, rail a third and wire a sixth up", times(some, 5, faults=0, factors=MATERIAL)
    yield "one reading in thirty misread", times(some, 6, faults=1, misread=1 / 30)
    yield "the kind left out of the list", times(some, 7, faults=1, unlisted=True)
    chance = random.Random(8)
    yield "seen by a beeper and a test axle", lambda: [trials.hear(chance) for _ in range(count)]


def yards() -> Iterator[tuple[str, Trials]]:
    """The small example, another yard made of it, and the example with points that feed and a rotary switch."""
    text = SMALL.read_text("utf-8")
    yield "small yard", Trials.of(text)
    for old, new in OTHER:
        assert old in text
        text = text.replace(old, new)
    yield "another yard", Trials.of(text)
    yield "a line that turns its trains", Trials.of((SMALL.parents[1] / "turning-line/line.toml").read_text("utf-8"))


def main(arguments: list[str]) -> None:
    """Print the figures of each layout."""
    count = next((int(one) for one in arguments if one.isdecimal()), 200)
    words = [one for one in arguments if not one.isdecimal()]
    for yard, trials in yards() if count > 1 else [next(yards())]:
        print(f"{yard}: {len(trials.faults)} causes, {len(trials.pool)} readings")
        for name, made in sorts(trials, count):
            if words and not any(one in name for one in words):
                continue
            begun = time.process_time()
            done = made()
            took = time.process_time() - begun
            print(f"  {name}, {figures(done)}; {took:.0f} s", flush=True)
            for one in [one for one in done if one.place > 1 and "left out of" not in name][:12]:
                print(f"    {one.why}")
    begun = time.process_time()
    trials.run(random.Random(1), 1)
    print(f"  one trace {time.process_time() - begun:.2f} s of processor time")


if __name__ == "__main__":
    main(sys.argv[1:])
