"""Where answers go: the terminal and files."""

from __future__ import annotations

import os
import shutil
import sys
from contextlib import suppress
from pathlib import Path
from select import select
from typing import TYPE_CHECKING

from blockcheck.cli.files import Gate, is_stdout, once, write_all
from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown
from blockcheck.formats.escape import for_text
from blockcheck.formats.marks import signed
from blockcheck.formats.style import Style

if TYPE_CHECKING:
    from blockcheck.formats.registry import Renderers

NOTHING_READ = Gate()
_BY_SUFFIX = {"md": "markdown", "txt": "text", "htm": "html", "xml": "junit"}
"""Suffix of a file -> its format, where they are not the same word."""


def terminal_style(csv_dialect: str = "comma", paper: str | None = None) -> Style:
    """The style of standard output: as wide as the terminal, in colour only on one (NO_COLOR is honoured)."""
    tty = _on_terminal()
    width = shutil.get_terminal_size((100, 24)).columns if tty else 100
    colour = tty and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Style(min(max(width, 40), 160), colour, csv_dialect, paper)


def _on_terminal() -> bool:
    return sys.stdout is not None and sys.stdout.isatty()


def deliver(
    renderers: Renderers,
    format_: str | None,
    outputs: list[str],
    gate: Gate = NOTHING_READ,
    csv_dialect: str = "comma",
    paper: str | None = None,
) -> None:
    """Write an answer to standard output in one format, and to files in others (``FORMAT=FILE``, or ``FILE.suffix``).

    ``gate`` tells what is never written over. Without a format, standard output only says which files were written.
    Raises CallError.
    """
    from blockcheck.formats.csv_table import dialect_named
    from blockcheck.formats.registry import renderer_named

    dialect_named(csv_dialect)
    wanted = [_output(renderers, output) for output in outputs]
    once(path for _, path in wanted)
    made = None if format_ is None else renderer_named(renderers, format_)(terminal_style(csv_dialect, paper))
    if isinstance(made, bytes) and _on_terminal():
        raise CallError(f"{format_} is no text for a terminal", f"write it to a file: -o {format_}=FILE")
    style = Style(csv_dialect=csv_dialect, paper=paper)
    contents = [(path, name, signed(name, renderers[name](style))) for name, path in wanted]
    for path, name, content in contents:  # all is made, and may be written, before anything is
        gate.check(path, name, content)
    gate.check_stdout()
    if made is None:
        made = "".join(f"{for_text(path)} is written.\n" for _, path in wanted)
    printed = [*(content for path, _, content in contents if is_stdout(path)), made]
    files = [(path, content) for path, _, content in contents if not is_stdout(path)]
    write_all(files, lambda: emit(*printed))


def _output(renderers: Renderers, output: str) -> tuple[str, str]:
    from blockcheck.formats.registry import renderer_named

    name, sign, path = output.partition("=")
    suffix = Path(output).suffix[1:].casefold()
    if not sign and suffix:  # the name of the file tells the format
        name, path = _BY_SUFFIX.get(suffix, suffix), output
    if not path or not name:
        raise CallError(
            f"{shown(output)} is no output",
            "write FORMAT=FILE, or a name that ends as its format: json=check.json, check.json",
        )
    renderer_named(renderers, name)
    return name, str(Path(path))


def emit(*made: str | bytes) -> None:
    """Text, or bytes as they are, to standard output; in UTF-8 whatever the locale, line ends stay as they are.

    A reader that has gone away (``| head``) wants no more and changes no exit status. Raises CallError where there is
    nowhere to write.
    """
    if sys.stdout is None:
        return
    try:
        sys.stdout.flush()
        for one in made:
            _pour(_bytes(one))
    except BrokenPipeError:
        _mute()
    except OSError as error:
        _mute()
        raise CallError(f"standard output cannot be written: {(error.strerror or str(error)).lower()}") from None


def _pour(made: bytes) -> None:
    """Write until nothing is left: unbuffered, or down a pipe that does not wait, one write may take only a part."""
    stream = getattr(sys.stdout.buffer, "raw", sys.stdout.buffer)
    rest = memoryview(made)
    while rest:
        taken = stream.write(rest)
        if taken is None:
            select([], [stream], [])
        rest = rest[taken or 0 :]


def _bytes(made: str | bytes) -> bytes:
    return made if isinstance(made, bytes) else made.encode("utf-8", "replace")


def _mute() -> None:
    """Let nothing that is still held back be written at the end, which would fail once more."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
