"""Where answers go: the terminal and files, the latter whole or not at all."""

from __future__ import annotations

import os
import shutil
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
) -> None:
    """Write an answer to standard output in one format, and to files in others (``FORMAT=FILE``, or ``FILE.suffix``).

    ``inputs`` are the files that were read: no answer is ever written over one. Without a format, standard output
    only says which files were written. Raises CallError.
    """
    from blockcheck.render.table import dialect_named

    dialect_named(csv_dialect)
    files = [*inputs]
    wanted = [_output(renderers, output, files) for output in outputs]
    made = None if format_ is None else _renderer(renderers, format_)(terminal_style(csv_dialect))
    if isinstance(made, bytes) and _on_terminal():
        raise CallError(f"{format_} is no text for a terminal", f"write it to a file: -o {format_}=FILE")
    for name, path in wanted:
        write_file(path, renderers[name](Style(csv_dialect=csv_dialect)))
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
    if not (name == "toml" and sign) and target.suffix == ".toml" and target.exists():
        raise CallError(
            f"{shown(path)} exists already: a layout or a filled sheet, it seems",
            "name another file" + (f", or overwrite it with -o toml={path}" if name == "toml" else ""),
        )
    return name, target


def writable(path: str, inputs: Iterable[str]) -> Path:
    """A file to write to. Raises CallError where it is one of those that were read."""
    target = Path(path)
    for one in inputs:
        with suppress(OSError, ValueError):
            if target.samefile(one):
                raise CallError(f"{shown(path)} is the layout itself, and would be overwritten", "name another file")
    return target


def read_text(path: str) -> str:
    """The text of a file. Raises CallError where it cannot be read."""
    try:
        return Path(path).read_text("utf-8-sig")
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
    """Write a file whole or not at all. Raises CallError where that cannot be done."""
    try:
        folder = path.parent
        descriptor, name = tempfile.mkstemp(dir=folder, prefix=f".{path.name}.")
        try:
            with os.fdopen(descriptor, "wb") as stream:
                stream.write(_bytes(made))
            umask = os.umask(0)
            os.umask(umask)
            Path(name).chmod(0o666 & ~umask)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except (OSError, ValueError) as error:
        raise _unwritable(path, error, "name a folder that exists, and that you may write to") from None
