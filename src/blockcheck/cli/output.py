"""Where answers go: the terminal and files, the latter whole or not at all."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import sys
import tempfile
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.render.style import Style

Renderers = Mapping[str, Callable[[Style], str | bytes]]
"""Format -> what makes it; text, or bytes where the format is a binary one."""

_BY_SUFFIX = {"md": "markdown", "txt": "text", "htm": "html", "xml": "junit"}
"""Suffix of a file -> its format, where they are not the same word."""


def terminal_style(csv_dialect: str = "comma") -> Style:
    """The style of standard output: as wide as the terminal, in colour only on one (NO_COLOR is honoured)."""
    tty = _on_terminal()
    width = shutil.get_terminal_size((100, 24)).columns if tty else 100
    colour = tty and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Style(min(max(width, 40), 160), colour, csv_dialect)


def _on_terminal() -> bool:
    return sys.stdout is not None and sys.stdout.isatty()


def deliver(
    renderers: Renderers,
    format_: str | None,
    outputs: list[str],
    inputs: Iterable[str] = (),
    csv_dialect: str = "comma",
    besides: Mapping[str, Callable[[], str]] | None = None,
) -> None:
    """Write an answer to standard output in one format, and to files in others (``FORMAT=FILE``, or ``FILE.suffix``).

    ``inputs`` are the files that were read: no answer is ever written over one. Without a format, standard output
    only says which files were written. ``besides`` holds files of other kinds, and what makes them. Raises CallError.
    """
    from blockcheck.render.table import dialect_named

    dialect_named(csv_dialect)
    files = [*inputs]
    wanted = [_output(renderers, output, files) for output in outputs]
    more = [(writable(path, files), make) for path, make in (besides or {}).items()]
    _once([*(path for _, path in wanted), *(path for path, _ in more)])
    made = None if format_ is None else _renderer(renderers, format_)(terminal_style(csv_dialect))
    if isinstance(made, bytes) and _on_terminal():
        raise CallError(f"{format_} is no text for a terminal", f"write it to a file: -o {format_}=FILE")
    contents = [(path, renderers[name](Style(csv_dialect=csv_dialect))) for name, path in wanted]
    contents += [(path, make()) for path, make in more]
    for path, content in contents:  # all is made before anything is written
        write_file(path, content)
    if made is None:
        made = "".join(f"{path} is written.\n" for _, path in wanted)
    emit(made)


def _renderer(renderers: Renderers, name: str) -> Callable[[Style], str | bytes]:
    if name not in renderers:
        near = did_you_mean(name, renderers)
        has = f"it has {', '.join(renderers)}"
        raise CallError(f"this command has no format {shown(name)}", f"{near} {has}" if near else has)
    return renderers[name]


def _output(renderers: Renderers, output: str, inputs: Iterable[str]) -> tuple[str, Path]:
    name, sign, path = output.partition("=")
    suffix = Path(output).suffix[1:].casefold()
    if not sign and suffix:  # the name of the file tells the format
        name, path = _BY_SUFFIX.get(suffix, suffix), output
    if not path or not name:
        raise CallError(
            f"{shown(output)} is no output",
            "write FORMAT=FILE, or a name that ends as its format: json=check.json, check.json",
        )
    _renderer(renderers, name)
    target = writable(path, inputs)
    if name == "toml" and sign:
        _kept(target, path)
    elif target.suffix == ".toml" and target.is_file():
        raise CallError(f"{shown(path)} exists already: a layout or a filled sheet, it seems", "name another file")
    return name, target


def _kept(target: Path, path: str) -> None:
    """Let nothing that a person wrote into a file of TOML be lost. Raises CallError.

    What blockcheck wrote may be written anew; a sheet only while no reading stands in it.
    """
    import tomllib

    try:
        values = tomllib.loads(target.read_text("utf-8-sig")) if target.is_file() else {}
    except (OSError, ValueError, RecursionError):
        raise CallError(f"{shown(path)} holds something else, and would be overwritten", "name another file") from None
    steps = values.get("steps")
    if isinstance(steps, list):
        if any(isinstance(one, dict) and (one.get("reading") or one.get("note")) for one in steps):
            raise CallError(f"{shown(path)} has readings in it, and would be overwritten", "name another file")
    elif values and not isinstance(values.get("rows"), list):
        raise CallError(f"{shown(path)} is a layout, it seems, and would be overwritten", "name another file")


def _once(paths: Iterable[Path]) -> None:
    """Let no two answers go to one file. Raises CallError."""
    seen: set[str] = set()
    for path in paths:
        place = os.path.realpath(path) if "\0" not in str(path) else str(path)
        if place in seen and not _opened(path):
            raise CallError(f"two outputs go to {shown(str(path))}", "name a file of its own for each")
        seen.add(place)


def writable(path: str, inputs: Iterable[str]) -> Path:
    """A file to write to. Raises CallError where it is one of those that were read."""
    target = Path(path)
    first = next(iter(inputs), None)
    for one in inputs:
        with suppress(OSError, ValueError):
            if target.samefile(one):
                what = "is the layout itself" if one == first else "was read for this"
                raise CallError(f"{shown(path)} {what}, and would be overwritten", "name another file")
    return target


def read_text(path: str, data: bytes | None = None) -> str:
    """The text of a file; ``data`` is what it holds where that was read already. Raises CallError."""
    try:
        return (Path(path).read_bytes() if data is None else data).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise CallError(f"{shown(path)} is no text in UTF-8", "name another file") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "that is no name of a file").lower()
        raise CallError(f"{shown(path)} cannot be read: {reason}", "name a file that exists") from None


def emit(made: str | bytes) -> None:
    """Text, or bytes as they are, to standard output; in UTF-8 whatever the locale, line ends stay as they are.

    A reader that has gone away (``| head``) wants no more and changes no exit status. Raises CallError where there is
    nowhere to write.
    """
    if sys.stdout is None:
        return
    try:
        sys.stdout.flush()
        sys.stdout.buffer.write(_bytes(made))
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        _mute()
    except OSError as error:
        _mute()
        raise CallError(f"standard output cannot be written: {(error.strerror or str(error)).lower()}") from None


def _bytes(made: str | bytes) -> bytes:
    return made if isinstance(made, bytes) else made.encode("utf-8", "replace")


def _mute() -> None:
    """Let nothing that is still held back be written at the end, which would fail once more."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def append_file(path: Path, text: Callable[[int], str]) -> None:
    """Append to a file what is made for the bytes that it has already. Raises CallError where that cannot be done."""
    try:
        with path.open("ab") as stream:
            stream.write(text(stream.tell()).encode("utf-8", "replace"))
    except (OSError, ValueError) as error:
        raise _unwritable(path, error, "name a file that you may write to") from None


def _unwritable(path: Path, error: OSError | ValueError, help_: str) -> CallError:
    reason = (getattr(error, "strerror", None) or "that is no name of a file").lower()
    return CallError(f"{shown(str(path))} cannot be written: {reason}", help_)


def write_file(path: Path, made: str | bytes) -> None:
    """Write a file whole or not at all; a link stays a link, and keeps its mode a file that is there.

    What is no file, such as a device or a pipe, is opened and written to. Raises CallError where that cannot be done.
    """
    try:
        if _is_stdout(path):
            emit(made)
        elif _opened(path):
            with path.open("wb") as stream:
                stream.write(_bytes(made))
        else:
            _replace(Path(os.path.realpath(path)), _bytes(made))
    except (OSError, ValueError) as error:
        raise _unwritable(path, error, "name a folder that exists, and that you may write to") from None


def _opened(path: Path) -> bool:
    """Whether it is a device, a pipe or a socket, which no file may take the place of."""
    return path.exists() and not path.is_file() and not path.is_dir()


def _is_stdout(path: Path) -> bool:
    """Whether it is where standard output goes already: a second file in its place would lose one of the two."""
    with suppress(OSError, ValueError, AttributeError):
        there = os.fstat(sys.stdout.fileno())
        return not stat.S_ISDIR(there.st_mode) and os.path.samestat(path.stat(), there)
    return False


def _replace(path: Path, content: bytes) -> None:
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if path.exists() and not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=".blockcheck-")
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(content)
        umask = os.umask(0)
        os.umask(umask)
        Path(name).chmod(stat.S_IMODE(path.stat().st_mode) if path.exists() else 0o666 & ~umask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
