"""The command that writes a layout to start from: from its options, or from what it asks on a terminal."""

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any, Optional, TypeVar

import typer

from blockcheck.cli import complete, output
from blockcheck.cli.files import Gate, write_all
from blockcheck.cli.options import Force, as_typed, format_option
from blockcheck.core.errors import CallError
from blockcheck.core.shown import plain, shown

T = TypeVar("T")


def new(
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="The file to write; left out: standard output.")
    ] = None,
    tracks: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option(
            "--tracks", metavar="N", help="A whole yard of so many storage tracks, 1 to 40.", show_default=False
        ),
    ] = None,
    ends: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option("--ends", metavar="N", help="At how many ends it has a ladder: 1 or 2; left out: 1."),
    ] = None,
    boards: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--boards", metavar="N,N", help="Channels of each detector board: 8,8; left out: eights."),
    ] = None,
    units: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--units", metavar="UNITS", help="metric or imperial; left out: metric.", autocompletion=complete.units
        ),
    ] = None,
    length: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--length", metavar="LENGTH", help='Length of a track: "2.4 m", "8 ft 6 in".', callback=as_typed),
    ] = None,
    isolators: Annotated[
        Optional[bool],  # noqa: UP045
        typer.Option("--isolators/--no-isolators", help="Whether each track has a switch; left out: it has."),
    ] = None,
    name: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--name", metavar="NAME", help="What the layout is called.", callback=as_typed),
    ] = None,
    kind: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--kind", metavar="KIND", help="dcc, or dc: two cabs and a switch for each block; left out: dcc."),
    ] = None,
    table: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--from", metavar="TABLE", help="A spreadsheet of blocks, CSV or xlsx: channel, block or track, length ..."
        ),
    ] = None,
    format: format_option("text, json") = "text",  # type: ignore[valid-type]
    force: Force = False,
) -> None:
    """A commented layout to start from: a short one, or a whole yard.

    With --tracks a yard with ladders, joints, channels, switches, wires, panel and trains; with --from the blocks of a
    spreadsheet. On a terminal, without any option, it asks.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    said: dict[str, Any] = {
        "tracks": tracks,
        "ends": ends,
        "boards": None if boards is None else channels_of(boards),
        "units": units,
        "length": length,
        "isolators": isolators,
        "name": name,
        "kind": kind,
    }
    if all(one is None for one in (table, *said.values())) and format == "text" and _on_terminal():
        file, said = _asked(file, force)
    if file is None:
        output.deliver(formats_of(api.new(table=table, **said)), format, [])
        return
    path, content = str(Path(file)), api.new(plain(Path(file).name), table=table, **said).text.encode()
    Gate(read=[table] if table is not None else [], force=force).check(path, "toml", content)
    write_all([(path, content)], lambda: output.emit(f"{file} is written. Check it with: blockcheck check {file}\n"))


def channels_of(text: str) -> tuple[int, ...]:
    """The channels of each board, as they were typed. Raises CallError."""
    if re.fullmatch(r"\s*[0-9]{1,4}(\s*,\s*[0-9]{1,4})*\s*", text) is None:
        raise CallError(f"boards cannot be {shown(text)}", "write the channels of each board, with commas: 8,8")
    return tuple(map(int, text.split(",")))


# --- questions ------------------------------------------------------------------------------------------------------


def _on_terminal() -> bool:
    """Whether somebody is there to answer."""
    return all(one is not None and one.isatty() for one in (sys.stdin, sys.stdout, sys.stderr))


def _asked(file: str | None, force: bool) -> tuple[str, dict[str, Any]]:
    """What a yard is to be, from questions, each with an answer to accept; and first the file to write."""
    from blockcheck.answers.start.yard import MOST_TRACKS, Wish

    typer.echo("Enter accepts what stands in brackets; Ctrl-C leaves, and nothing is written.", err=True)
    short = "0: a short file, to write the rest by hand"
    tracks = _ask(
        f"Storage tracks, 1 to {MOST_TRACKS} ({short})", "6", _number, lambda n: n and Wish(tracks=n).settled()
    )
    said: dict[str, Any] = {"tracks": tracks}

    def ask(key: str, question: str, read: Callable[[str], Any]) -> None:
        usual = getattr(Wish(**said).settled(), key)
        offered = ",".join(map(str, usual)) if isinstance(usual, tuple) else "yes" if usual is True else str(usual)
        said[key] = _ask(question, offered, read, lambda value: Wish(**{**said, key: value}).settled())

    if tracks:
        ask("ends", "Ladders of turnouts at 1 end or at 2", _number)
        ask("kind", "Controlled by dcc, or by dc with two cabs", str.casefold)
    cabs = said.get("kind") == "dc"
    if tracks and not cabs:
        ask("boards", "Channels of each detector board", channels_of)
    if tracks:
        ask("units", "Units, metric or imperial", str)
        ask("length", "Length of a track", str)
        if not cabs:
            ask("isolators", "A switch for each track, yes or no", _yes)
        ask("name", "Name of the layout", str)
    gate = Gate(force=force)
    target = file or _ask("File to write", "layout.toml", str, lambda name: gate.check(str(Path(name)), "toml", b""))
    return target, said if tracks else {}


def _ask(question: str, default: str, read: Callable[[str], T], check: Callable[[T], object]) -> T:
    """Ask until the answer can be read, and what it makes can be."""
    while True:
        try:
            answer = read(str(typer.prompt(question, default=default, err=True)).strip())
            check(answer)
            return answer
        except CallError as error:
            typer.echo(f"  {error}; {error.help}" if error.help else f"  {error}", err=True)


def _number(text: str) -> int:
    if re.fullmatch("[0-9]{1,4}", text) is None:
        raise CallError(f"{shown(text)} is no number", "write digits, such as 6")
    return int(text)


def _yes(text: str) -> bool:
    answers = {"y": True, "yes": True, "n": False, "no": False}
    if text.casefold() not in answers:
        raise CallError(f"{shown(text)} is neither", "write yes or no")
    return answers[text.casefold()]
