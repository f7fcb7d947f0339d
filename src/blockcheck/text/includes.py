"""Reading a layout's files: the first one, and all that it includes."""

from __future__ import annotations

import os
from pathlib import Path as FilePath

from attrs import field, frozen

from blockcheck.core.errors import CallError, InputError
from blockcheck.core.findings import Finding, Label
from blockcheck.core.spans import Path
from blockcheck.text.document import STOCK, ReadFile
from blockcheck.text.toml import MOST_BYTES, read_toml

MOST_FILES = 512


def shipped(folder: str) -> FilePath:
    """The folder of data (``schemas`` or ``shared``) that ships with the package, installed or in a checkout."""
    package = FilePath(__file__).resolve().parents[1]
    inside = package / folder
    return inside if inside.is_dir() else package.parents[1] / folder


def read_bytes(path: FilePath) -> bytes:
    """The bytes of a file, at most one more than a layout file may have. Raises OSError."""
    with path.open("rb") as stream:
        return stream.read(MOST_BYTES + 1)


def printed_name(path: str) -> str:
    """How a file named on the command line is printed: never by an absolute path."""
    if not os.path.isabs(path):  # noqa: PTH117 - the text as it was typed is wanted, not a normalised path
        return FilePath(path).as_posix()
    try:
        return FilePath(path).relative_to(FilePath.cwd()).as_posix()
    except ValueError:
        return FilePath(path).name


def read_files(path: str, data: bytes | None = None, allow_outside: bool = False) -> tuple[ReadFile, ...]:
    """Read a layout file and its includes, the first file first.

    ``data`` stands for the content of the first file where that is read from elsewhere. Raises CallError where the
    first file cannot be opened, InputError for everything that is wrong inside the files.
    """
    file = FilePath(path)
    if data is None:
        try:
            data = read_bytes(file)
        except OSError as error:
            raise CallError(f"{printed_name(path)} cannot be read: {_reason(error)}", _first_help(error)) from None
    session = _Reading(file.parent.resolve(), allow_outside)
    session.read(file, printed_name(path), data, ())
    if session.findings:
        raise InputError(session.findings)
    return tuple(session.files)


def _reason(error: OSError) -> str:
    return (error.strerror or "unknown reason").lower()


def _first_help(error: OSError) -> str:
    if isinstance(error, IsADirectoryError):
        return "name the layout file in that folder"
    return 'check the name; "blockcheck new" writes a first file to start from'


@frozen(eq=False, repr=False, slots=False)
class _Reading:
    root: FilePath
    allow_outside: bool
    files: list[ReadFile] = field(factory=list)
    findings: list[Finding] = field(factory=list)
    seen: dict[FilePath, ReadFile] = field(factory=dict)

    def read(self, file: FilePath, name: str, data: bytes, stack: tuple[tuple[FilePath, ReadFile, Path], ...]) -> None:
        try:
            source, values = read_toml(data, name)
        except InputError as error:
            self.findings.extend(error.findings)
            return
        read = ReadFile(source, values)
        self.files.append(read)
        self.seen[file.resolve()] = read
        wanted = values.get("include", [])
        if not isinstance(wanted, list):
            self._fault(read, ("include",), "include takes a list of file names", 'write include = ["yard.toml"]')
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
        target = self._target(file, read, at, entry)
        if target is None:
            return
        path, name = target
        stack = (*stack, (file.resolve(), read, at))
        for above, includer, where in stack:
            if above == path.resolve():
                first = Label(includer.place(where), f"{includer.source.name} includes it here")
                self._fault(read, at, f'"{entry}" includes itself in a circle', "take one of the includes out", first)
                return
        if path.resolve() in self.seen:
            return  # two files may both lean on a third, which counts once
        if len(self.seen) >= MOST_FILES:
            self._fault(read, at, f"the layout has more than {MOST_FILES} files", "join some of them")
            return
        try:
            data = read_bytes(path)
        except OSError as error:
            self._fault(read, at, f'"{entry}" cannot be read: {_reason(error)}', f"it is looked for as {name}")
            return
        self.read(path, name, data, stack)

    def _target(self, file: FilePath, read: ReadFile, at: Path, entry: str) -> tuple[FilePath, str] | None:
        if entry.startswith(STOCK):
            known = {path.stem: path for path in sorted(shipped("shared").glob("*.toml"))}
            stock = known.get(entry.removeprefix(STOCK))
            if stock is None:
                names = ", ".join(f'"{STOCK}{name}"' for name in known)
                self._fault(read, at, f'there is no stock file "{entry}"', f"there are: {names}")
                return None
            return stock, entry
        path = file.parent / entry
        inside = path.resolve().is_relative_to(self.root)
        if not inside and not self.allow_outside:
            start = self.files[0]
            self._fault(
                read,
                at,
                f'"{entry}" lies outside the folder of {start.source.name}',
                "move it into that folder, or allow it with --allow-outside",
                Label(start.place(("include",)), "the folder of this file is the border"),
            )
            return None
        folder = os.path.dirname(read.source.name)  # noqa: PTH120 - names are printed as they were typed
        name = os.path.normpath(os.path.join(folder, entry)).replace(os.sep, "/")  # noqa: PTH118
        return path, name if not os.path.isabs(entry) else path.name  # noqa: PTH117

    def _fault(self, read: ReadFile, at: Path, message: str, help_: str, *related: Label) -> None:
        self.findings.append(Finding(message, read.source.name, read.place(at), related=related, help=help_))
