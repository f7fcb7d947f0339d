"""What becomes of a case: it is answered or refused, within the law of cost, the same each time; or it is a defect.

The law: no command takes more than 10 s of a processor or 500 MB for whatever a file of 1 MB says; bench and trace, and
what contains a test sheet, 60 s.
"""

from __future__ import annotations

import resource
import signal
import traceback
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from attrs import frozen

from blockcheck.core.errors import BlockcheckError

QUICK_S, LONG_S, MOST_MB = 10.0, 60.0, 500


class Over(BaseException):
    """More time than the law allows."""


@frozen
class Verdict:
    """``what`` is None where nothing is wrong; its first line tells one failure from another."""

    outcome: str
    what: str | None = None
    digest: int = 0

    @property
    def sign(self) -> str:
        """What a smaller case of the same failure has too."""
        return (self.what or "").split("\n", 1)[0]


@contextmanager
def bounded(seconds: float) -> Iterator[None]:
    """Let what is inside take so much of a processor. Raises Over."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise Over

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def bound_memory() -> None:
    """Let this process take so much more memory than a process that has imported everything."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
    most = pages * resource.getpagesize() + (MOST_MB - 100) * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))


def guarded(name: str, seconds: float, ask: Callable[[], Verdict]) -> Verdict:
    """An ask within the law; what escapes is a defect."""
    try:
        with bounded(seconds):
            return ask()
    except Over:
        return Verdict("over", f"{name}: more than {seconds:g} s of a processor")
    except MemoryError:
        return Verdict("over", f"{name}: more than {MOST_MB} MB")
    except BlockcheckError as error:
        return Verdict("refused", digest=zlib.crc32(str(error).encode("utf-8", "replace")))
    except (Exception, SystemExit) as error:
        return Verdict("defect", f"{name}: {where(error)}\n{traceback.format_exc()[-3000:]}")


def where(error: BaseException) -> str:
    """The sort of an error, and the last line of ours that it went through."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [one for one in frames if "/blockcheck/" in one.filename] or frames
    return f"{type(error).__name__} at {Path(ours[-1].filename).name}:{ours[-1].lineno}"


def joined(verdicts: Sequence[Verdict]) -> Verdict:
    """The verdict on all asks of a case: the first that is wrong, else whether anything was answered."""
    wrong = next((one for one in verdicts if one.what is not None), None)
    if wrong is not None:
        return wrong
    digest = zlib.crc32(repr([one.digest for one in verdicts]).encode())
    return Verdict("answered" if any(one.outcome == "answered" for one in verdicts) else "refused", None, digest)
