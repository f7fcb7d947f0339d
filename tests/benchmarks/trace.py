"""How well readings are traced to their fault, and what it costs. Prints figures; it is no test.

    python -m tests.benchmarks.trace [small] [club] [dc] [FAULTS]

Every single fault of the list is injected at every place where it is possible. Its readings, simulated on the changed
circuit, are given to trace: without noise, and with noise within the meter's tolerance and a third of them missing.
A number is how many faults of each layout are injected; left out: all. Set OPENBLAS_NUM_THREADS=1 on a busy machine.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from pathlib import Path

from attrs import frozen

from blockcheck import api
from blockcheck.analysis.bench.choose import Choice, choose
from blockcheck.analysis.bench.faults import Fault, every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import Predicted, predict
from blockcheck.analysis.bench.suspects import Judge, Search, Value
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.answers.workshop.bench import alike_of
from blockcheck.solver.solve import operating_point

EXAMPLES = Path(__file__).parents[2] / "examples"
LAYOUTS = {"small": "small-yard/yard.toml", "club": "club-yard/club.toml", "dc": "dc-yard/yard.toml"}


@frozen(eq=False, repr=False)
class Trial:
    """A layout with all its faults, what every test reads with each, and what its sheet cannot tell apart."""

    bench: Bench
    faults: tuple[Fault, ...]
    predicted: Predicted
    choice: Choice
    alike: dict[str, set[str]]
    tolerance: Tolerance
    most: int | None = None

    @classmethod
    def of(cls, path: Path, times: int = 1, most: int | None = None) -> Trial:
        bench = Bench.of(api.load(path))
        faults = every_fault(bench, guesses=True)
        predicted = predict(bench, bench.tests, [one.change for one in faults])
        ids = ["", *(one.id for one in faults)]
        tolerance = Tolerance()
        choice = choose(predicted, tolerance, same=ids, times=times)
        return cls(bench, faults, predicted, choice, alike_of(choice.untold, ids), tolerance, most)

    @property
    def single(self) -> list[int]:
        """The cases to inject: every fault once, or the first so many."""
        return [case for case, one in enumerate(self.faults, 1) if one.guess == 0][: self.most]

    def read(self, case: int, chance: random.Random | None = None, missing: float = 0.0, every: bool = False) -> Search:
        """What trace makes of one fault's readings: with noise and gaps where there is chance."""
        tests = list(range(len(self.bench.tests)) if every else self.choice.tests)
        if chance is not None and missing:
            chance.shuffle(tests)
            tests = sorted(tests[: len(tests) - round(missing * len(tests))])
        values = [self.reading(test, case, chance) for test in tests]
        steps = tuple(self.bench.tests[test] for test in tests)
        return Judge(self.bench, steps, tuple(values), self.tolerance).search(self.faults, 800)

    def reading(self, test: int, case: int, chance: random.Random | None) -> Value:
        """What the meter shows, anywhere within its tolerance; a channel near its threshold reads or does not."""
        import numpy as np

        value, step = self.predicted.value(test, case), self.bench.tests[test]
        if not isinstance(value, float):
            some = {one for one in value.doubtful if chance is not None and chance.random() < 0.5}
            return frozenset({*value, *some})
        if chance is None or (step.kind == OHMS and value >= OPEN_OHM):
            return value
        room = float(self.tolerance.of(step, np.array([value]))[0])
        return max(value + chance.uniform(-room, room), 0.0)

    def tied(self, search: Search) -> set[str]:
        """The ids that are tied first; the empty one is wiring that is right."""
        return {_id(one.faults) for one in search.suspects[: search.tied]}

    def place(self, case: int, search: Search) -> int:
        """The place of the true fault, 1 for the first: those that no test tells from it do not count, equals count
        as ahead of it."""
        true = self.faults[case - 1].id
        mine = next(at for at, one in enumerate(search.suspects) if _id(one.faults) == true)
        own = search.suspects[mine]
        others = self.alike.get(true, set()) | {true}
        ahead = [
            _id(one.faults) for at, one in enumerate(search.suspects) if at < mine or abs(one.score - own.score) < 1e-9
        ]
        return 1 + len({one for one in ahead if one not in others})


def _id(faults: tuple[Fault, ...]) -> str:
    return "+".join(one.id for one in faults)


def exact(trial: Trial) -> tuple[int, int, int, Counter[int]]:
    """Faults injected, tied first, tied with exactly those that the sheet says; sizes of the ties."""
    first = same = 0
    sizes: Counter[int] = Counter()
    for case in trial.single:
        search = trial.read(case)
        tied, true = trial.tied(search), trial.faults[case - 1].id
        first += true in tied
        same += tied - {true} == trial.alike.get(true, set()) - {true}
        sizes[search.tied] += 1
    return len(trial.single), first, same, sizes


def noisy(trial: Trial, seed: int, missing: float, every: bool) -> tuple[int, int, int]:
    """Faults injected, first, among the first three."""
    chance = random.Random(seed)
    places = [trial.place(case, trial.read(case, chance, missing, every)) for case in trial.single]
    return len(places), sum(one == 1 for one in places), sum(one <= 3 for one in places)


def cost(path: Path) -> tuple[float, float]:
    """Processor seconds of one operating point, and of tracing one sheet to a single fault, from nothing."""
    trial = Trial.of(path)
    case = api.load(path)
    fresh = Bench.of(case)
    electrics = Electrics.of(case, case.operations[0])
    network = electrics.loaded_network
    points = []
    for _ in range(7):
        begun = time.process_time()
        operating_point(network)
        points.append(time.process_time() - begun)
    steps = tuple(fresh.tests[test] for test in trial.choice.tests)
    values = tuple(trial.reading(test, trial.single[3], None) for test in trial.choice.tests)
    begun = time.process_time()
    Judge(fresh, steps, values, trial.tolerance).search(every_fault(fresh, guesses=True), 800)
    return sorted(points)[3], time.process_time() - begun


def main(arguments: list[str]) -> None:
    most = next((int(one) for one in arguments if one.isdecimal()), None)
    for name in [one for one in arguments if not one.isdecimal()] or ["small"]:
        path = EXAMPLES / LAYOUTS[name]
        for times in (1, 2, 3):
            trial = Trial.of(path, times, most)
            steps, pool = len(trial.choice.tests), len(trial.bench.tests)
            print(f"{name}, each pair told {times} times: {steps} steps of {pool}, {len(trial.single)} single faults")
            if times == 1:
                count, first, same, sizes = exact(trial)
                print(f"  no noise: first {first} of {count}; tied with exactly what the sheet says {same} of {count}")
                print(f"  sizes of the ties: {dict(sorted(sizes.items()))}")
            for missing in (0.0, 1 / 3):
                count, one, three = noisy(trial, 7, missing, False)
                print(f"  noise, {missing:.0%} missing: first {one / count:.1%}, first three {three / count:.1%}")
        count, one, three = noisy(trial, 7, 1 / 3, True)
        print(f"{name}, all tests, noise, 33% missing: first {one / count:.1%}, first three {three / count:.1%}")
        point, traced = cost(path)
        print(f"  one operating point {1e3 * point:.1f} ms, trace {1e3 * traced:.0f} ms: {traced / point:.0f} times")


if __name__ == "__main__":
    main(sys.argv[1:])
