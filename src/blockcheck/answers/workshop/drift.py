"""What reads otherwise than in earlier readings of the same tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.answers.workshop.readings import Reading, understood
from blockcheck.core.columns import column


@frozen
class Drift:
    """A test that reads otherwise than it did."""

    id: str = column("What trace knows it by.")
    title: str = column("What it is about.")
    before: str = column("What was read then.")
    now: str = column("What is read now.")

    @property
    def words(self) -> str:
        """As a line has it."""
        return f"{self.title}: {self.now}, was {self.before} ({self.id})"


def drift(own: Bench, before: Sequence[Reading], now: Sequence[Reading], tolerance: Tolerance) -> Iterator[Drift]:
    """What reads otherwise than before, by more than the tolerance makes of one value."""
    import numpy as np

    was = {one.step.id: one for one in understood(own, before)}
    for one in understood(own, now):
        other = was.get(one.step.id)
        if other is None or type(other.value) is not type(one.value):
            continue
        if isinstance(one.value, float):
            assert isinstance(other.value, float)
            room = float(tolerance.of(one.step, np.array([one.value, other.value])).sum())
            differs = abs(one.value - other.value) > room
        else:
            differs = one.value != other.value
        if differs:
            yield Drift(one.step.id, one.step.title, other.words, one.words)
