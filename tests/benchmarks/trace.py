"""How well readings are traced to their fault, and what it costs. Prints figures; it is no test.

    python -m tests.benchmarks.trace [FAULTS]

Faults of all kinds and sizes are put into yards of a second model (`tests/second_model.py`), whose rail is off by up to
a quarter, each conductor by an eighth, whose joints have half to twice what is reckoned with, and whose meter has 2 %
and a milliohm of noise. A number is how many of each sort are put in. Set OPENBLAS_NUM_THREADS=1 on a busy machine.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from attrs import field, frozen

from blockcheck import api
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.suspects import Judge, Search
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import Step
from tests.second_model import Second, shown_by_a_meter

SMALL = Path(__file__).parents[2] / "examples/small-yard/yard.toml"
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
MATERIAL = {"rail": 1.33, "1.5 mm2": 1.16, "2.5 mm2": 1.16, "0.5 mm2": 1.16}
"""Rail a third off and wire a sixth: nothing is wrong."""


@frozen(eq=False, repr=False)
class Trials:
    """A layout, the faults that are searched for, and the steps of its sheet with every gap metered."""

    text: str
    bench: Bench
    faults: tuple[Fault, ...]
    pool: tuple[Step, ...]

    @classmethod
    def of(cls, path: Path) -> Trials:
        study = api.load(path)
        bench = Bench.of(study)
        ids = [step.id for step in api.bench(study, at_hand=("axle", "supply"), each=True).steps]
        ids += [step.id for step in bench.tests if step.id.startswith(("rails.", "joint."))]
        return cls(path.read_text(), bench, causes(bench), tuple(bench.by_id[one] for one in dict.fromkeys(ids)))

    def run(
        self, chance: random.Random, faults: int, missing: float = 0.0, factors: dict[str, float] | None = None
    ) -> Trial:
        """Some faults of random kinds, places and sizes, and what trace makes of their readings."""
        yard = Second(self.text, chance, factors)
        kinds = sorted({one.kind for one in self.faults})
        put: list[Fault] = []
        while len(put) < faults:
            kind = chance.choice(kinds)
            fault = chance.choice([one for one in self.faults if one.kind == kind])
            if any(fault.change.touched & one.change.touched or fault.subjects == one.subjects for one in put):
                continue  # two of one thing: the second hides the first
            low, high = (math.log(one) for one in SIZES.get(kind, (1.0, 1.0)))
            solid = kind == "gap-bridged" and chance.random() < 0.5
            yard.break_(fault.id, 0.0 if solid else math.exp(chance.uniform(low, high)))
            put.append(fault)
        steps = tuple(step for step in self.pool if chance.random() >= missing)
        read = (yard.read(step.id, step.kind, dict(step.state), step.across) for step in steps)
        values = tuple(shown_by_a_meter(one, chance) for one in read)
        search = Judge(self.bench, steps, values, METER).search(self.faults, 800)
        return Trial(tuple(sorted(one.id for one in put)), search)


@frozen(eq=False, repr=False)
class Trial:
    """What was wrong, and what was made of it."""

    true: tuple[str, ...]
    search: Search
    names: frozenset[tuple[str, ...]] = field(default=frozenset())

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
        return min(best.share, 0.5) if best.against else best.share


def figures(trials: Sequence[Trial]) -> str:
    """Shares in words."""
    count = len(trials)
    first, tied, three = (
        sum(map(bool, some)) / count
        for some in zip(*((one.place == 1, one.tied, one.place <= 3) for one in trials), strict=True)
    )
    sure = [one for one in trials if one.told >= 0.8]
    right = sum(one.place == 1 for one in sure)
    return (
        f"{count}: first {first:.0%}, first or tied {tied:.0%}, first three {three:.0%}; "
        f"told with 80 % or more {len(sure)}, right {right}"
    )


def sorts(trials: Trials, count: int) -> Iterator[tuple[str, list[Trial]]]:
    """Every sort of trial, so many of each; pairs and sound yards a third."""
    some, chance = max(count // 3, 1), random.Random(20261127)
    yield "single faults", [trials.run(chance, 1) for _ in range(count)]
    yield "a third of the readings left out", [trials.run(chance, 1, 1 / 3) for _ in range(some)]
    yield "two faults", [trials.run(chance, 2) for _ in range(some)]
    yield "nothing wrong", [trials.run(chance, 0) for _ in range(some)]
    yield "nothing wrong, rail a third and wire a sixth up", [trials.run(chance, 0, 0, MATERIAL) for _ in range(some)]


def main(arguments: list[str]) -> None:
    """Print the figures of the small example."""
    count = next((int(one) for one in arguments if one.isdecimal()), 200)
    trials = Trials.of(SMALL)
    print(f"{len(trials.faults)} causes, {len(trials.pool)} readings")
    for name, done in sorts(trials, count):
        print(f"  {name}, {figures(done)}")
    begun = time.process_time()
    trials.run(random.Random(1), 1)
    print(f"  one trace {time.process_time() - begun:.2f} s of processor time")


if __name__ == "__main__":
    main(sys.argv[1:])
