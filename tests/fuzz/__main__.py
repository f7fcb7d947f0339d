"""``python -m tests.fuzz [ROOM ...] [--seconds N] [--count N] [--seed S] [--jobs N]``: look for defects by chance.

Every failure is made small and printed as a case, one of each sort; tests/fuzz/cases keeps those that were mended. The
digest of a room is that of all its answers: run twice with another PYTHONHASHSEED, it has to be the same.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import signal
import sys
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from itertools import count
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from attrs import define, field

from tests.benchmarks.generate import layout
from tests.fuzz.cases import Case, written
from tests.fuzz.judge import judged
from tests.fuzz.law import Verdict, bound_memory
from tests.fuzz.less import ROOT
from tests.fuzz.rooms import ROOMS, beside, made
from tests.fuzz.shrink import smaller

FORK = multiprocessing.get_context("fork")
RENEWED = 400
"""A worker looks at so many cases; what the process keeps is not to be taken for what a case takes."""
PATIENCE_S = 200.0
"""Whoever takes a processor for so long without a verdict hangs where no signal is heard."""
AGAIN = 10
"""One case in so many is asked twice."""
Job = tuple[str, int]


def worker(pipe: Connection) -> None:
    """Judge what comes down a pipe, in silence."""
    os.environ["BLOCKCHECK_DEBUG"] = "1"
    os.environ["HOME"] = os.environ["TMPDIR"] = "/tmp"
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    warnings.simplefilter("error")
    bound_memory()
    while (job := pipe.recv()) is not None:
        room, seed = job
        pipe.send(judged(made(room, seed), twice=seed % AGAIN == 0))


def warm() -> None:
    """Import what commands import, before memory is bounded and processes part."""
    files = {**beside(ROOT / "examples" / "club-yard" / "club.toml"), "large.toml": layout(100, wired=True).encode()}
    calls = [("check", name, "-f", form) for name in ("club.toml", "large.toml") for form in ("html", "xlsx", "json")]
    made_ = judged(Case("warm", files, (*calls, ("bench", "club.toml"), ("page", "club.toml"))))
    assert made_.outcome == "answered", made_


@define(eq=False)
class Worker:
    """A process that judges, and what it has in hand."""

    pipe: Connection = field(init=False)
    process: Any = field(init=False)
    job: Job | None = None
    since: float = 0.0
    before: float = 0.0
    done: int = 0

    def __attrs_post_init__(self) -> None:
        self.pipe, other = FORK.Pipe()
        self.process = FORK.Process(target=worker, args=(other,), daemon=True)
        self.process.start()
        other.close()

    def give(self, job: Job) -> None:
        """Let it judge a case; a new process after many."""
        if self.done >= RENEWED:
            self.end()
            self.__attrs_post_init__()
            self.done = 0
        self.job, self.since, self.done = job, time.monotonic(), self.done + 1
        self.before = self.spent_in_all()
        self.pipe.send(job)

    def spent(self) -> float:
        """Seconds of a processor that the case in hand has taken."""
        return self.spent_in_all() - self.before

    def spent_in_all(self) -> float:
        """Seconds of a processor that the process has taken: proc(5), utime and stime."""
        told = Path(f"/proc/{self.process.pid}/stat").read_text("ascii").rpartition(")")[2].split()
        return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")

    def take(self) -> Verdict:
        """The verdict that has come."""
        try:
            verdict: Verdict = self.pipe.recv()
        except EOFError:
            verdict = Verdict("defect", f"the process died with {self.process.exitcode}")
            self.done = RENEWED
        self.job = None
        return verdict

    def end(self) -> None:
        """Stop the process."""
        self.process.kill()
        self.process.join()
        self.pipe.close()


@define(eq=False)
class Log:
    """What was found."""

    outcomes: dict[str, Counter[str]] = field(factory=dict)
    digests: Counter[str] = field(factory=Counter)
    failures: Counter[str] = field(factory=Counter)
    taken: Counter[str] = field(factory=Counter)
    slowest: dict[str, tuple[float, int]] = field(factory=dict)

    def add(self, job: Job, verdict: Verdict, seconds: float) -> bool:
        """Keep a verdict; True where it is a failure of a new sort."""
        room, seed = job
        self.outcomes.setdefault(room, Counter())[verdict.outcome] += 1
        self.digests[room] = (self.digests[room] + verdict.digest * (seed + 1)) % 2**32
        self.taken[room] += round(seconds * 1000)
        if seconds > self.slowest.get(room, (0.0, 0))[0]:
            self.slowest[room] = (seconds, seed)
        if verdict.what is None:
            return False
        self.failures[verdict.sign] += 1
        return self.failures[verdict.sign] == 1

    def say(self, took: float) -> None:
        """Print it all."""
        for room, outcomes in self.outcomes.items():
            seconds, seed = self.slowest[room]
            told = ", ".join(f"{number} {outcome}" for outcome, number in outcomes.most_common())
            took_room = self.taken[room] / 1000
            print(f"{room}: {outcomes.total()} ({told}) in {took_room:.0f} s", end="; ")
            print(f"slowest {seconds:.1f} s ({seed}); digest {self.digests[room]:08x}")
        total = sum(one.total() for one in self.outcomes.values())
        print(f"{total} inputs in {took:.0f} s, {self.failures.total()} failures of {len(self.failures)} sorts")
        for sign, number in self.failures.most_common():
            print(f"  {number} x {sign}")


def jobs(rooms: list[str], first: int, most: int | None) -> Iterator[Job]:
    """Rooms in turn, seed after seed."""
    for seed in count(first):
        if most is not None and seed >= first + most:
            return
        yield from ((room, seed) for room in rooms)


def run(rooms: list[str], seconds: float, most: int | None, first: int, workers: int) -> Log:
    """Judge cases until the time or the count is used up."""
    warm()
    began, log, todo = time.monotonic(), Log(), jobs(rooms, first, most)
    pool = [Worker() for _ in range(workers)]
    busy = [one for one in pool if (job := next(todo, None)) is not None and not one.give(job)]  # type: ignore[func-returns-value]
    while busy:
        ready = wait([one.pipe for one in busy], timeout=5)
        for one in [*busy]:
            job, late = one.job, time.monotonic() - one.since
            assert job is not None
            if one.pipe in ready:
                verdict = one.take()
            elif one.spent() > PATIENCE_S or late > 20 * PATIENCE_S:
                one.end()
                one.__attrs_post_init__()
                verdict = Verdict("over", f"{job[0]}: hangs where no signal is heard")
            else:
                continue
            if log.add(job, verdict, late):
                tell(job, verdict)
            following = next(todo, None) if time.monotonic() - began < seconds else None
            if following is None:
                busy.remove(one)
            else:
                one.give(following)
    for one in pool:
        one.end()
    log.say(time.monotonic() - began)
    return log


def tell(job: Job, verdict: Verdict) -> None:
    """Print a failure, as small as it can be made, in a process of its own."""
    print(f"--- {job[0]} {job[1]}: {verdict.what}", flush=True)
    if "hangs" in verdict.sign or "died" in verdict.sign:
        return
    process = FORK.Process(target=small, args=(job, verdict.sign))
    process.start()
    process.join(PATIENCE_S)
    if process.is_alive():
        process.kill()


def small(job: Job, sign: str) -> None:
    """Make a failure small and print it."""
    warnings.simplefilter("error")
    os.environ["BLOCKCHECK_DEBUG"] = "1"
    bound_memory()
    case = made(*job)
    twice = sign.startswith("another answer")
    found = smaller(case, lambda less: judged(less, twice).sign == sign, 40.0)
    print(written(found, f"{job[0]} {job[1]}: {sign}"), flush=True)


def main(arguments: list[str]) -> int:
    """Run what is asked for; 1 where anything failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("rooms", nargs="*", metavar="ROOM", help=", ".join(ROOMS))
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--count", type=int, help="seeds of each room")
    parser.add_argument("--seed", type=int, default=0, help="the first one")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    given = parser.parse_args(arguments)
    unknown = set(given.rooms) - set(ROOMS)
    if unknown:
        parser.error(f"there is no room {', '.join(sorted(unknown))}")
    if given.count is None and given.seconds == float("inf"):
        given.seconds = 60.0
    log = run(given.rooms or [*ROOMS], given.seconds, given.count, given.seed, given.jobs)
    return 1 if log.failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
