"""A bar for work that takes longer than a second, on a terminal and nowhere else; an end for what takes too long."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from blockcheck.core.errors import CallError, OutOfTimeError

PATIENCE_S = 1.0
"""Nothing is shown before: what is quick needs no bar."""

Report = Callable[[str, int, int], None]


@contextmanager
def shown_progress(seconds: float | None = None) -> Iterator[Report | None]:
    """What to call with the name of the work, how far it is and how far it goes; None where nobody would see it, and
    nothing has to end. After so many ``seconds`` it raises OutOfTimeError; CallError where they are no number."""
    if seconds is not None and math.isnan(seconds):
        raise CallError("--seconds cannot be nan, which never ends", 'write how many, such as "60"')
    bar = None if sys.stderr is None or not sys.stderr.isatty() else _Bar()
    end = None if seconds is None else time.monotonic() + seconds

    def report(what: str, done: int, whole: int) -> None:
        if end is not None and time.monotonic() >= end:
            raise OutOfTimeError
        if bar is not None:
            bar.report(what, done, whole)

    try:
        yield None if bar is None and seconds is None else report
    finally:
        if bar is not None:
            bar.close()


class _Bar:
    def __init__(self) -> None:
        self._begun = time.monotonic()
        self._shown: object = None
        self._stop: Callable[[], None] | None = None
        self._update: Callable[[str, int, int], None] | None = None

    def report(self, what: str, done: int, whole: int) -> None:
        if self._update is None:
            if time.monotonic() - self._begun < PATIENCE_S:
                return
            self._start()
        assert self._update is not None
        self._update(what, done, whole)

    def _start(self) -> None:
        from rich.console import Console  # loaded only once the work has taken a second
        from rich.progress import BarColumn, Progress, TextColumn

        progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.percentage:>3.0f} %"),
            console=Console(stderr=True),
            transient=True,
        )
        tasks: dict[str, object] = {}

        def update(what: str, done: int, whole: int) -> None:
            if what not in tasks:
                tasks[what] = progress.add_task(what, total=whole)
            progress.update(tasks[what], completed=done, total=whole)  # type: ignore[arg-type]

        progress.start()
        self._update, self._stop = update, progress.stop

    def close(self) -> None:
        if self._stop is not None:
            self._stop()
