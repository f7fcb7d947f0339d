"""The arguments and options that several commands share, and how a layout is named on the command line."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from blockcheck.cli import complete

if TYPE_CHECKING:
    from blockcheck.core.findings import Severity

File = Annotated[
    str, typer.Argument(metavar="FILE", help="The layout's first file; - reads standard input.", show_default=False)
]


def as_typed(words: str | None) -> str | None:
    """Names as they were typed, in UTF-8, also where the locale knows ASCII alone; for the callback of an option."""
    return None if words is None else words.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def format_option(names: str, written: str = "") -> Any:
    """The option of a command that has these formats; ``written`` is the one that it writes where no file is named."""
    left_out = f"; left out: {written}, unless -o is given" if written else ""
    option = typer.Option(
        "--format",
        "-f",
        metavar="FORMAT",
        help=f"What to write to standard output: {names}{left_out}.",
        autocompletion=complete.format_names,
        show_default=not written,
    )
    return Annotated[Optional[str] if written else str, option]  # noqa: UP045 - typer reads it at run time


Output = Annotated[
    Optional[list[str]],  # noqa: UP045
    typer.Option(
        "--output",
        "-o",
        metavar="[FORMAT=]FILE",
        help="Also write a file, in the format that its name ends with; may be repeated.",
        autocompletion=complete.output_names,
    ),
]
Force = Annotated[
    bool,
    typer.Option("--force", help="Overwrite files that hold something else than an earlier answer of blockcheck."),
]
CsvDialect = Annotated[
    str,
    typer.Option(
        "--csv-dialect",
        metavar="DIALECT",
        help="How CSV is written: comma, semicolon (with decimal commas) or tab.",
        autocompletion=complete.dialects,
    ),
]
Tracks = Annotated[
    Optional[str],  # noqa: UP045
    typer.Argument(
        metavar="[TRACKS]",
        help="Tracks, blocks, isolators or groups: 3-7, lower:3-7, S3,I4; controls that stand otherwise: route=5.",
        autocompletion=complete.track_names,
        callback=as_typed,
        show_default=False,
    ),
]
Scenario = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--scenario",
        "-s",
        metavar="NAME",
        help="Start from this scenario of the layout.",
        autocompletion=complete.scenario_names,
        callback=as_typed,
    ),
]
Opened = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--open",
        metavar="TRACKS",
        help="With these isolated: 3-7, lower:3-7, S3,I4; or set: route=5.",
        autocompletion=complete.track_names,
        callback=as_typed,
    ),
]
AtHand = Annotated[
    str,
    typer.Option(
        "--with",
        metavar="NAMES",
        help="What is at hand: beeper, axle, meter (0.1 ohm and volts), supply (1 A, millivolts and volts).",
        autocompletion=complete.instruments,
    ),
]
StdinName = Annotated[
    str, typer.Option("--stdin-filename", metavar="FILE", help="Name and place of what standard input holds.")
]
Paper = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--paper",
        metavar="PAPER",
        help="A4, A3, Letter, Legal or a size in mm; left out: what the printer holds, of sheets at 1:1 the layout's.",
    ),
]
Seconds = Annotated[
    float,
    typer.Option("--seconds", metavar="N", min=0, help="After so long it tells what it has, and what it left out."),
]
Tolerance = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--tolerance",
        metavar="TOLERANCE",
        help='How far a right reading may be off; left out: "5 % + 2 mohm + 0.3 V", since wire and rail differ by '
        "some per cent from their tables, and clips add some milliohms.",
        show_default=False,
    ),
]
Outside = Annotated[bool, typer.Option("--allow-outside", help="Allow includes from above the first file's folder.")]


def stdin_bytes(*files: str) -> bytes | None:
    """What standard input holds, where one of the files is ``-``. Raises CallError."""
    from blockcheck.core.errors import CallError
    from blockcheck.text.toml import MOST_BYTES

    if "-" not in files:
        return None
    try:
        return sys.stdin.buffer.read(MOST_BYTES + 1) if sys.stdin is not None else b""
    except OSError as error:
        raise CallError(f"standard input cannot be read: {(error.strerror or str(error)).lower()}") from None


def severity_named(name: str) -> Severity | None:
    """The severity at which a check fails; None for ``never``. Raises CallError for another word."""
    from blockcheck.core.errors import CallError
    from blockcheck.core.findings import Severity
    from blockcheck.core.shown import shown

    if name == "never":
        return None
    try:
        return Severity(name)
    except ValueError:
        raise CallError(f"--fail-on cannot be {shown(name)}", "write error, warning, note or never") from None
