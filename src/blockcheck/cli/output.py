"""Where answers go: the terminal and files, the latter whole or not at all."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from blockcheck.core.errors import CallError
from blockcheck.render.style import Style

Renderers = Mapping[str, Callable[[Style], str]]


def terminal_style() -> Style:
    """The style of standard output: as wide as the terminal, in colour only on one (NO_COLOR is honoured)."""
    tty = sys.stdout.isatty()
    width = shutil.get_terminal_size((100, 24)).columns if tty else 100
    colour = tty and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Style(min(max(width, 40), 160), colour)


def deliver(renderers: Renderers, format_: str, outputs: list[str]) -> None:
    """Write an answer to standard output in one format, and to files in others (``FORMAT=FILE``)."""
    wanted = [_output(renderers, output) for output in outputs]
    text = _renderer(renderers, format_)(terminal_style())
    for name, path in wanted:
        write_file(path, renderers[name](Style()))
    emit(text)


def _renderer(renderers: Renderers, name: str) -> Callable[[Style], str]:
    if name not in renderers:
        raise CallError(f'this command has no format "{name}"', f"it has {', '.join(renderers)}")
    return renderers[name]


def _output(renderers: Renderers, output: str) -> tuple[str, Path]:
    name, sign, path = output.partition("=")
    if not sign or not path:
        raise CallError(f'"{output}" is no output', "write FORMAT=FILE, such as json=check.json")
    _renderer(renderers, name)
    return name, Path(path)


def emit(text: str) -> None:
    """Text to standard output, in UTF-8 whatever the locale; line ends stay as they are."""
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8", "replace"))
    sys.stdout.buffer.flush()


def write_file(path: Path, text: str) -> None:
    """Write a file whole or not at all. Raises CallError where that cannot be done."""
    try:
        folder = path.parent
        descriptor, name = tempfile.mkstemp(dir=folder, prefix=f".{path.name}.")
        try:
            with os.fdopen(descriptor, "w", encoding="utf-8", newline="") as stream:
                stream.write(text)
            umask = os.umask(0)
            os.umask(umask)
            Path(name).chmod(0o666 & ~umask)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise CallError(f"{path} cannot be written: {(error.strerror or str(error)).lower()}") from None
