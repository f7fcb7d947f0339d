"""Files that are written: never over what would be lost, each whole, and all of a call or none."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown
from blockcheck.formats.marks import kept

FORCED = "name another file, or overwrite it with --force"
_MOST_BYTES = 2**26
"""A file of more than this is no answer."""


class Gate(NamedTuple):
    """What no answer of a call is written over: what was read for it, and what blockcheck did not write.

    ``layouts`` are never written over; ``read``, and what blockcheck did not write, where ``force`` is given.
    """

    layouts: Sequence[Path] = ()
    read: Sequence[str] = ()
    force: bool = False

    def check(self, path: str, format_: str, made: bytes) -> None:
        """Let an answer take the place of what is there. Raises CallError where that would be lost."""
        target = Path(path)
        if any(_same(target, one) for one in self.layouts):
            first = _same(target, self.layouts[0])
            what = "is the layout itself" if first else "was read for this"
            raise CallError(f"{shown(path)} {what}, and would be overwritten", "name another file")
        if self.force or is_stdout(path) or _is_special(target):
            return
        if any(_same(target, Path(one)) for one in self.read):
            raise CallError(f"{shown(path)} was read for this, and would be overwritten", FORCED)
        with _told(path), suppress(FileNotFoundError, NotADirectoryError, IsADirectoryError):
            with target.open("rb") as stream:
                there = stream.read(_MOST_BYTES)
            why = kept(there, made, format_)
            if why is not None:
                raise CallError(f"{shown(path)} exists already: {why}", FORCED)

    def check_stdout(self) -> None:
        """Let standard output go on (``>>``) behind nothing that was read. Raises CallError."""
        for path in (*self.layouts, *map(Path, self.read)):
            if is_stdout(path) and path.is_file():
                raise CallError(f"standard output is {shown(str(path))}, which was read for this", "name another file")


def _same(one: Path, other: Path) -> bool:
    """Whether two names are of one file: by a link of either kind, or on a disk that tells no case apart."""
    with suppress(OSError, ValueError):
        return one.samefile(other)
    return False


def is_stdout(path: str | Path) -> bool:
    """Whether it is where standard output goes already: a second file in its place would lose one of the two."""
    with suppress(OSError, ValueError, AttributeError):
        there = os.fstat(sys.stdout.fileno())
        return not stat.S_ISDIR(there.st_mode) and os.path.samestat(Path(path).stat(), there)
    return False


def _is_special(path: Path) -> bool:
    """Whether it is a device, a pipe or a socket, which no file may take the place of."""
    with suppress(OSError, ValueError):
        mode = path.stat().st_mode
        return not stat.S_ISREG(mode) and not stat.S_ISDIR(mode)
    return False


@contextmanager
def _told(path: str) -> Iterator[None]:
    """Turn what the system refuses into a sentence. Raises CallError."""
    try:
        yield
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "that is no name of a file").lower()
        full = getattr(error, "errno", None) in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
        help_ = "no file is changed" if full else "name a folder that exists, and that you may write to"
        raise CallError(f"{shown(path)} cannot be written: {reason}", help_) from None


def once(paths: Iterable[str]) -> None:
    """Let no two answers go to one file. Raises CallError."""
    seen: set[str] = set()
    for path in paths:
        with _told(path):
            place = os.path.realpath(path)
        if place in seen and not _is_special(Path(path)):
            raise CallError(f"two outputs go to {shown(path)}", "name a file of its own for each")
        seen.add(place)


def write_all(contents: Iterable[tuple[str, bytes]], last: Callable[[], None] = lambda: None) -> None:
    """Write files and then do what is ``last``: all of it, or every file stays as it was.

    A link stays a link, and a file that is there keeps its mode. What is no file, such as a device or a pipe, is opened
    and written to. Raises CallError where any of it cannot be done.
    """
    staged: list[_Staged] = []
    special: list[tuple[str, bytes]] = []
    try:
        for path, content in contents:
            if _is_special(Path(path)):
                special.append((path, content))
                continue
            with _told(path):
                staged.append(_Staged(path))
                staged[-1].stage(content)
        for path, content in special:
            with _told(path):
                _pour(os.open(path, os.O_WRONLY), content)
        for one in staged:
            with _told(one.name):
                one.put()
        last()
    except BaseException:
        for one in reversed(staged):
            one.back()
        raise
    finally:
        for one in staged:
            one.clear()


_MARK = b"\xef\xbb\xbf"


def rewrite_all(files: Iterable[tuple[str, str, str]], last: Callable[[], None] = lambda: None) -> None:
    """Write layouts anew that were read for it: path, the text that it held and the one it is to hold. All, or none.

    Raises CallError where one holds something else by now, or is no plain file.
    """
    contents = []
    for path, before, after in files:
        with _told(path):
            there = b"" if _is_special(Path(path)) else Path(path).read_bytes()
        mark = _MARK if there.startswith(_MARK) else b""
        if there != mark + before.encode():
            raise CallError(f"{shown(path)} has changed since it was read", "no file is changed; run it again")
        contents.append((path, mark + after.encode()))
    write_all(contents, last)


class _Staged:
    """A file that stands beside the one whose place it will take."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._path = Path(os.path.realpath(name))
        self._new, self._former = (self._path.with_name(f".blockcheck-{os.urandom(8).hex()}") for _ in range(2))
        self._placed = False

    def stage(self, content: bytes) -> None:
        """Write the new file; keep the former one at hand."""
        if self._path.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        there = self._path.exists()
        if there and not os.access(self._path, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        _pour(os.open(self._new, flags, 0o666), content, to_disk=True)
        if there:
            self._new.chmod(stat.S_IMODE(self._path.stat().st_mode))
            try:
                self._former.hardlink_to(self._path)
            except OSError:  # not every disk has links
                shutil.copy2(self._path, self._former)

    def put(self) -> None:
        """Let the new file take its place."""
        self._new.replace(self._path)
        self._placed = True

    def back(self) -> None:
        """Put the former file back. Raises CallError, which says where it is now, if that cannot be done."""
        if not self._placed:
            return
        try:
            self._former.replace(self._path) if self._former.exists() else self._path.unlink()
        except OSError:
            former, self._former = self._former.name, self._new
            raise CallError(f"{shown(self.name)} cannot be put back", f"what it held is in {former}") from None

    def clear(self) -> None:
        """Leave nothing beside it."""
        for path in (self._new, self._former):
            with suppress(OSError):
                path.unlink()


def _pour(descriptor: int, content: bytes, to_disk: bool = False) -> None:
    """Write all of it, see that it is on the disk where that is asked for, and close."""
    try:
        rest = memoryview(content)
        while rest:
            rest = rest[os.write(descriptor, rest) :]
        if to_disk:
            os.fsync(descriptor)
    except BaseException:
        with suppress(OSError):
            os.close(descriptor)
        raise
    os.close(descriptor)


def append_file(path: Path, text: Callable[[int], str]) -> None:
    """Append to a file what is made for the bytes that it has already; all of it or nothing. Raises CallError."""
    with _told(str(path)):
        descriptor = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
        size = os.fstat(descriptor).st_size
        try:
            _pour(descriptor, text(size).encode("utf-8", "replace"))
        except OSError:
            with suppress(OSError):
                os.truncate(path, size)
            raise
