"""Reading a layout's files: the first one, and all that it includes."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Container, Mapping
from contextlib import suppress
from pathlib import Path as FilePath

from attrs import field, frozen

from blockcheck.core.errors import CallError, InputError
from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.nearest import nearest
from blockcheck.core.shown import plain, shown, unseen
from blockcheck.core.spans import Path
from blockcheck.text.document import STOCK, ReadFile
from blockcheck.text.toml import MOST_BYTES, TOO_LARGE, read_toml

MOST_FILES = 512
MOST_DEEP = 50


def shipped(folder: str) -> FilePath:
    """The folder of data (``schemas`` or ``shared``) that ships with the package, installed or in a checkout."""
    package = FilePath(__file__).resolve().parents[1]
    inside = package / folder
    return inside if inside.is_dir() else package.parents[1] / folder


def read_bytes(path: FilePath) -> bytes:
    """The bytes of a file, at most one more than a layout file may have. Raises OSError."""
    with path.open("rb") as stream:
        return stream.read(MOST_BYTES + 1)


def _read_plain(path: FilePath) -> bytes:
    """The bytes of a file that is no device or pipe, which might be waited for without end. Raises OSError."""
    mode = path.stat().st_mode
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise OSError(errno.EINVAL, "it is no plain file")
    return read_bytes(path)


def printed_name(path: str) -> str:
    """How a file named on the command line is printed: never by an absolute path."""
    if not os.path.isabs(path):  # noqa: PTH117 - the text as it was typed is wanted, not a normalised path
        return FilePath(path).as_posix()
    try:
        return FilePath(path).relative_to(FilePath.cwd()).as_posix()
    except (ValueError, OSError):  # it lies elsewhere, or the folder that we are in is gone
        return FilePath(path).name


def read_named(path: str, help_: str) -> bytes:
    """The bytes of a file named on the command line. Raises CallError, with ``help_`` where nothing better is known."""
    file = FilePath(path)
    try:
        return read_bytes(file)
    except (OSError, ValueError) as error:
        raise CallError(f"{printed_name(path)} cannot be read: {_reason(error)}", _help(file, error, help_)) from None


def read_text(path: str, help_: str, data: bytes | None = None) -> str:
    """The text of a file that is no TOML; ``data`` is what it holds where that was read already. Raises CallError."""
    content = read_named(path, help_) if data is None else data
    if len(content) > MOST_BYTES:
        raise CallError(f"{printed_name(path)} {TOO_LARGE}", help_)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CallError(f"{printed_name(path)} is no text in UTF-8", help_) from None


def read_files(
    path: str, data: bytes | None = None, allow_outside: bool = False, unsaved: Mapping[FilePath, bytes] | None = None
) -> tuple[ReadFile, ...]:
    """Read a layout file and its includes, the first file first.

    ``data`` stands for the content of the first file where that is read from elsewhere, ``unsaved`` for that of others,
    by their paths. Raises CallError where the first file cannot be opened, InputError for everything that is wrong
    inside the files.
    """
    file = FilePath(path)
    if data is None:
        data = read_named(path, _first_help(file))
    known = {_resolved(one): content for one, content in (unsaved or {}).items()}
    session = _Reading(_resolved(file.parent), allow_outside, known)
    with suppress(InputError):  # too many faults: they are told with the others
        session.read(file, printed_name(path), data, ())
    session.faults.stop(session.paths)
    return tuple(session.files)


def _reason(error: OSError | ValueError) -> str:
    return (getattr(error, "strerror", None) or "that is no name of a file").lower()


def _first_help(file: FilePath) -> str:
    if not os.path.isdir(file):  # noqa: PTH112 - False for whatever is no name
        return 'check the name; "blockcheck new" writes a first file to start from'
    name = min((one.name for one in file.glob("*.toml")), default=None)
    return "name the layout file in it" + (f", such as {(file / name).as_posix()}" if name is not None else "")


def _help(
    file: FilePath,
    error: OSError | ValueError,
    otherwise: str,
    folder: FilePath | None = None,
    known: Container[FilePath] = (),
) -> str:
    """What to name instead of a file that cannot be read."""
    if isinstance(error, PermissionError):
        return "see that you may read it"
    near = _near(file, folder or file.parent, known) if isinstance(error, FileNotFoundError) else None
    return f'did you mean "{near}"?' if near else otherwise


def _near(file: FilePath, folder: FilePath, known: Container[FilePath]) -> str | None:
    """The file in the folder, not known yet, whose name is nearest to that of ``file``, written like it."""
    try:
        there = [one for ending in {".toml", file.suffix or ".toml"} for one in folder.glob(f"*{ending}")]
        name = nearest(file.name, sorted(one.name for one in there if _resolved(one) not in known))
    except (OSError, ValueError):
        return None
    return (file.parent / name).as_posix() if name else None


def _resolved(path: FilePath) -> FilePath:
    """A path without links and dots; where links run in a circle, as it is: reading it will tell."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        with suppress(OSError):  # the folder that we are in may be gone
            return path.absolute()
        return path


@frozen(eq=False, repr=False, slots=False)
class _Reading:
    root: FilePath
    allow_outside: bool
    unsaved: Mapping[FilePath, bytes]
    files: list[ReadFile] = field(factory=list)
    faults: Faults = field(factory=Faults)
    seen: dict[FilePath, ReadFile] = field(factory=dict)
    paths: list[FilePath] = field(factory=list)

    def read(self, file: FilePath, name: str, data: bytes, stack: tuple[tuple[FilePath, ReadFile, Path], ...]) -> None:
        self.paths.append(file)
        try:
            source, values = read_toml(data, name)
        except InputError as error:
            self.faults.extend(error.findings)
            return
        read = ReadFile(source, values, file)
        self.files.append(read)
        self.seen[_resolved(file)] = read
        wanted = values.get("include", [])
        if not isinstance(wanted, list):
            name = f'"{plain(wanted)}"' if isinstance(wanted, str) else '"yard.toml"'
            self._fault(read, ("include",), "include takes a list of file names", f"write include = [{name}]")
            return
        for index, entry in enumerate(wanted):
            self._include(file, read, ("include", index), entry, stack)

    def _include(
        self,
        file: FilePath,
        read: ReadFile,
        at: Path,
        entry: object,
        stack: tuple[tuple[FilePath, ReadFile, Path], ...],
    ) -> None:
        if not isinstance(entry, str) or not entry or "\0" in entry:
            self._fault(read, at, "include takes file names, as text", 'write include = ["yard.toml"]')
            return
        if (sign := unseen(entry)) is not None:
            message = f"{shown(entry)} holds U+{ord(sign):04X}, which is not seen"
            self._fault(read, at, message, "give the file a name that can be read")
            return
        target = self._target(file, read, at, entry)
        if target is None:
            return
        path, name = target
        stack = (*stack, (_resolved(file), read, at))
        place = _resolved(path)
        for above, includer, where in stack:
            if above == place:
                first = Label(includer.place(where), f"{includer.source.name} includes it here")
                self._fault(
                    read, at, f"{shown(entry)} includes itself in a circle", "take one of the includes out", first
                )
                return
        if place in self.seen:
            return  # two files may both lean on a third, which counts once
        if len(self.seen) >= MOST_FILES:
            self._fault(read, at, f"the layout has more than {MOST_FILES} files", "join some of them")
            return
        if len(stack) > MOST_DEEP:
            help_ = "let the first file include the others itself"
            self._fault(read, at, f"files include each other more than {MOST_DEEP} deep", help_)
            return
        try:
            data = self.unsaved[place] if place in self.unsaved else _read_plain(path)
        except (OSError, ValueError) as error:
            help_ = _help(FilePath(entry), error, f"it is looked for as {plain(name)}", path.parent, self.seen)
            self._fault(read, at, f"{shown(entry)} cannot be read: {_reason(error)}", help_)
            return
        self.read(path, name, data, stack)

    def _target(self, file: FilePath, read: ReadFile, at: Path, entry: str) -> tuple[FilePath, str] | None:
        if entry.startswith(STOCK):
            known = {path.stem: path for path in sorted(shipped("shared").glob("*.toml"))}
            stock = known.get(entry.removeprefix(STOCK))
            if stock is None:
                names = ", ".join(f'"{STOCK}{name}"' for name in known)
                self._fault(read, at, f"there is no stock file {shown(entry)}", f"there are: {names}")
                return None
            return stock, entry
        path = file.parent / entry
        inside = _resolved(path).is_relative_to(self.root)
        if not inside and not self.allow_outside:
            start = self.files[0]
            self._fault(
                read,
                at,
                f"{shown(entry)} lies outside the folder of {start.source.name}",
                "move it into that folder, or allow it with --allow-outside",
                Label(start.place(("include",)), "the folder of this file is the border"),
            )
            return None
        folder = os.path.dirname(read.source.name)  # noqa: PTH120 - names are printed as they were typed
        name = os.path.normpath(os.path.join(folder, entry)).replace(os.sep, "/")  # noqa: PTH118
        return path, name if not os.path.isabs(entry) else path.name  # noqa: PTH117

    def _fault(self, read: ReadFile, at: Path, message: str, help_: str, *related: Label) -> None:
        self.faults.add(read.place(at), message, help_, *related)
