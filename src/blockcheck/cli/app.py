"""The commands."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from blockcheck.cli import complete, output, status

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing

app = typer.Typer(
    name="blockcheck",
    help="Checks the track wiring of a model railway: detection, isolation, power districts.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    add_completion=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
)

File = Annotated[str, typer.Argument(help="The layout's first file; - reads standard input.", show_default=False)]
Format = Annotated[
    str,
    typer.Option("--format", "-f", help="What to write to standard output.", autocompletion=complete.format_names),
]
Output = Annotated[
    Optional[list[str]],  # noqa: UP045 - typer reads the annotation at run time
    typer.Option(
        "--output",
        "-o",
        metavar="[FORMAT=]FILE",
        help="Also write a file, as its name ends; may be repeated.",
        autocompletion=complete.output_names,
    ),
]
CsvDialect = Annotated[
    str,
    typer.Option(
        "--csv-dialect", help="How CSV is written: comma, semicolon or tab.", autocompletion=complete.dialects
    ),
]
StdinName = Annotated[str, typer.Option("--stdin-filename", help="Name and place of what standard input holds.")]
Paper = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--paper", help="A4, A3, Letter, Legal or a size in mm; left out: A4, Letter where units are imperial."
    ),
]
Tolerance = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option(
        "--tolerance",
        help="How far a right reading may be off: a share, ohms and volts. Default: 5 % + 2 mohm + 0.3 V, since wire "
        "and rail differ by some per cent from their tables, and clips add some milliohms.",
        show_default=False,
    ),
]
Outside = Annotated[bool, typer.Option("--allow-outside", help="Allow includes from above the first file's folder.")]


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        output.emit(f"blockcheck {version('blockcheck')}\n")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Checks the track wiring of a model railway: detection, isolation, power districts.

    Exit status: 0 nothing found at or above --fail-on, 1 something found, 2 the input or the call could not be
    understood, 3 a defect of blockcheck itself.
    """


def _stdin(*files: str) -> bytes | None:
    from blockcheck.core.errors import CallError
    from blockcheck.text.toml import MOST_BYTES

    if "-" not in files:
        return None
    try:
        return sys.stdin.buffer.read(MOST_BYTES + 1) if sys.stdin is not None else b""
    except OSError as error:
        raise CallError(f"standard input cannot be read: {(error.strerror or str(error)).lower()}") from None


@app.command()
def check(
    files: Annotated[list[str], typer.Argument(metavar="FILE...", help="Layouts; - reads standard input.")],
    format: Format = "text",
    outputs: Output = None,
    fail_on: Annotated[
        str, typer.Option("--fail-on", help="error, warning, note or never.", autocompletion=complete.severities)
    ] = "error",
    baseline: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--baseline", metavar="FILE", help="An earlier answer in JSON: fail only on what is new since."),
    ] = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Is it right? Findings, what was not checked and why, and what was accepted."""
    from blockcheck import api
    from blockcheck.cli.formats import check_formats, job_summary, severity_named

    def draw() -> list[Drawing]:
        return [
            api.draw(api.load(name, data if file == "-" else None, allow_outside=allow_outside))
            for file, name in zip(files, named, strict=True)
        ]

    level = severity_named(fail_on)
    earlier = output.read_text(baseline) if baseline is not None else None
    data, named = _stdin(*files), [stdin_filename if file == "-" else file for file in files]
    answer = api.check_files(files, data, stdin_filename, allow_outside=allow_outside)
    if baseline is not None and earlier is not None:
        answer = api.since(answer, earlier, baseline)
    output.deliver(check_formats(answer, named, level, draw), format, outputs or [], files, csv_dialect)
    if "github" in (format, *(one.partition("=")[0] for one in outputs or [])):
        job_summary(answer)
    if not answer.understood:
        raise typer.Exit(status.NOT_UNDERSTOOD)
    raise typer.Exit(status.FOUND if answer.fails(level) else status.OK)


@app.command()
def channels(
    file: File,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The channel map: which channel is which block."""
    from blockcheck import api
    from blockcheck.cli.formats import channels_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    output.deliver(channels_formats(api.channels(case)), format, outputs or [], [file], csv_dialect)


@app.command()
def isolate(
    file: File,
    tracks: Annotated[
        str,
        typer.Argument(
            help="Tracks, blocks, isolators or groups: 3-7, lower:3-7, S3,I4.", autocompletion=complete.track_names
        ),
    ],
    scenario: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--scenario", "-s", help="Start from this scenario.", autocompletion=complete.scenario_names),
    ] = None,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """What happens if I isolate these? Exits 1 when something happens that is not meant."""
    from blockcheck import api
    from blockcheck.cli.formats import isolate_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    answer = api.isolate(case, tracks, scenario)
    output.deliver(
        isolate_formats(answer, lambda: api.draw(case, scenario, tracks)), format, outputs or [], [file], csv_dialect
    )
    raise typer.Exit(status.FOUND if answer.unintended else status.OK)


@app.command()
def power(
    file: File,
    netlist: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--netlist", metavar="FILE", help="Also write the network as a deck for ngspice."),
    ] = None,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Volts, short-circuit current and detection at the worst place of every block."""
    from blockcheck import api
    from blockcheck.cli.formats import power_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    formats = power_formats(api.power(case))
    if netlist is not None:
        output.write_file(output.writable(netlist, [file]), api.netlist(case))
    output.deliver(formats, format, outputs or [], [file], csv_dialect)


@app.command()
def budget(
    file: File,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Who draws what, what still fits, and which fewest tracks to put to sleep where it does not."""
    from blockcheck import api
    from blockcheck.cli.formats import budget_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    output.deliver(budget_formats(api.budget(case)), format, outputs or [], [file], csv_dialect)


@app.command()
def wake(
    file: File,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """In which order to switch tracks on, so that no breaker locks out."""
    from blockcheck import api
    from blockcheck.cli.formats import wake_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    output.deliver(wake_formats(api.wake(case)), format, outputs or [], [file], csv_dialect)


@app.command()
def book(
    file: File,
    format: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--format",
            "-f",
            help="What to write to standard output: html (unless -o is given), xlsx.",
            autocompletion=complete.format_names,
        ),
    ] = None,
    outputs: Output = None,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The whole record to hand over and file: -o book.html to print it, -o book.xlsx for every table."""
    from blockcheck import api
    from blockcheck.cli.formats import book_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    output.deliver(book_formats(api.book(case)), format or (None if outputs else "html"), outputs or [], [file])


@app.command()
def draw(
    file: File,
    scenario: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--scenario", "-s", help="Draw it in this scenario.", autocompletion=complete.scenario_names),
    ] = None,
    opened: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--open",
            metavar="TRACKS",
            help="Draw these isolated: 3-7, lower:3-7, S3,I4.",
            autocompletion=complete.track_names,
        ),
    ] = None,
    format: Format = "svg",
    outputs: Output = None,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The layout as a schematic drawing: track, joints, feeds, states, and findings where they are."""
    from blockcheck import api
    from blockcheck.cli.formats import draw_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    output.deliver(draw_formats(api.draw(case, scenario, opened)), format, outputs or [], [file])


@app.command()
def compare(
    old: Annotated[str, typer.Argument(metavar="OLD", help="The layout as it is; - reads standard input.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The layout as it will be; - reads standard input.")],
    exit_code: Annotated[bool, typer.Option("--exit-code", help="Exit with 1 when the wiring differs.")] = False,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """What does a change do? Wires to touch, labels, tests to repeat; findings and budgets before and after."""
    from blockcheck import api
    from blockcheck.cli.formats import compare_formats

    cases = api.load_two(old, new, _stdin(old, new), stdin_filename, allow_outside=allow_outside)
    answer = api.compare(*cases)
    output.deliver(compare_formats(answer), format, outputs or [], [old, new], csv_dialect)
    raise typer.Exit(status.FOUND if exit_code and answer.wiring_differs else status.OK)


@app.command()
def wires(
    file: File,
    only: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--only", help="One part of the list: pieces, totals or strips; JSON always has all."),
    ] = None,
    label_size: Annotated[str, typer.Option("--label-size", help="Width and height of a label, in mm.")] = "38x12",
    gap: Annotated[str, typer.Option("--gap", help="What is free between labels, in mm.")] = "2x0",
    margin: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--margin", help="What is free left of and above the first label, in mm; left out: centred."),
    ] = None,
    start: Annotated[int, typer.Option("--start", help="Place of the first label on the first sheet.")] = 1,
    sheet: Annotated[int, typer.Option("--sheet", help="Which sheet labels-svg draws.")] = 1,
    outline: Annotated[bool, typer.Option("--outline/--no-outline", help="Draw the edges of the labels.")] = True,
    paper: Paper = None,
    format: Format = "text",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Every piece of wire: ends, labels, lengths, what to buy, and what is on which terminal."""
    from blockcheck import api
    from blockcheck.cli.formats import LabelOptions, wires_formats

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    labels = LabelOptions(label_size, gap, margin, paper, start, sheet, outline)
    output.deliver(wires_formats(api.wires(case), only, labels), format, outputs or [], [file], csv_dialect)


@app.command()
def panel(
    file: File,
    pitch: Annotated[str, typer.Option("--pitch", help="Between two holes of a row; twice as much between rows.")] = (
        "25 mm"
    ),
    columns: Annotated[int, typer.Option("--columns", help="Most holes in a row.")] = 10,
    group: Annotated[Optional[str], typer.Option("--group", help="Only the isolators of this group.")] = None,  # noqa: UP045
    hole: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--hole", help="Also draw the holes, of this diameter; left out: only their centres."),
    ] = None,
    paper: Paper = None,
    format: Format = "svg",
    outputs: Output = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The isolators as they stand on the control panel, at 1:1 to drill by; html spreads it over sheets of paper."""
    from blockcheck import api
    from blockcheck.cli.formats import millimetres, panel_formats, panel_options

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    answer = api.panel(case, millimetres(pitch, "--pitch"), columns, group)
    options = panel_options(answer, paper, hole)
    output.deliver(panel_formats(answer, *options), format, outputs or [], [file], csv_dialect)


@app.command()
def bench(
    file: File,
    only: Annotated[Optional[str], typer.Option("--only", help="Only the tests of this group.")] = None,  # noqa: UP045
    since: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--since", metavar="OLD", help="Only what differs from this older layout."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every test, not the fewest.")] = False,
    times: Annotated[int, typer.Option("--times", min=1, max=5, help="Tell each pair of faults so many times.")] = 1,
    tolerance: Tolerance = None,
    format: Format = "text",
    outputs: Output = None,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The test sheet: what to measure once it is wired, and what to read. TOML is to be filled in, for trace."""
    from blockcheck import api
    from blockcheck.cli.formats import bench_formats
    from blockcheck.cli.progress import shown_progress

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    old = api.load(since, allow_outside=allow_outside) if since is not None else None
    with shown_progress() as progress:
        answer = api.bench(case, only=only, since=old, every=every, times=times, tolerance=tolerance, progress=progress)
    output.deliver(bench_formats(answer), format, outputs or [], [file, *([since] if since else [])])


@app.command()
def trace(
    file: File,
    readings: Annotated[str, typer.Argument(help="The filled test sheet (TOML).", show_default=False)],
    pairs: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option("--pairs", min=0, help="Look at so many pairs of faults where no single one explains everything."),
    ] = None,
    tolerance: Tolerance = None,
    format: Format = "text",
    outputs: Output = None,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Which wiring faults explain the readings. Exits 1 when something is wrong."""
    from blockcheck import api
    from blockcheck.cli.formats import trace_formats
    from blockcheck.cli.progress import shown_progress

    case = api.load(*_first(file, stdin_filename), allow_outside=allow_outside)
    with shown_progress() as progress:
        answer = api.trace(case, readings, tolerance=tolerance, most_pairs=pairs, progress=progress)
    output.deliver(trace_formats(answer), format, outputs or [], [file, readings])
    raise typer.Exit(status.FOUND if answer.off else status.OK)


@app.command()
def explain(
    name: Annotated[
        Optional[str],  # noqa: UP045
        typer.Argument(
            metavar="[RULE|KEY]", help="A rule, or a key such as blocks.length.", autocompletion=complete.explained
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="All rules at length: the whole reference.")] = False,
    format: Format = "text",
    outputs: Output = None,
) -> None:
    """What a rule holds, why, how to mend it, with examples; without a name, the list of rules."""
    from blockcheck.cli.formats import explain_formats

    output.deliver(explain_formats(name, every), format, outputs or [])


@app.command()
def new(
    file: Annotated[Optional[str], typer.Argument(help="The file to write; left out: standard output.")] = None,  # noqa: UP045
    format: Format = "text",
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that exists.")] = False,
) -> None:
    """A commented starting file."""
    from blockcheck.answers.new import new as text_of
    from blockcheck.cli.formats import new_formats
    from blockcheck.core.errors import CallError
    from blockcheck.core.shown import plain, shown

    if file is None:
        output.deliver(new_formats("layout.toml"), format, [])
        return
    if os.path.lexists(file) and not force:
        raise CallError(f"{shown(file)} exists already", "name another file, or overwrite it with --force")
    output.write_file(Path(file), text_of(plain(Path(file).name)))
    output.emit(f"{file} is written. Check it with: blockcheck check {file}\n")


def _first(file: str, stdin_filename: str) -> tuple[str, bytes | None]:
    """The name and, from standard input, the content of a layout's first file."""
    data = _stdin(file)
    return (file if data is None else stdin_filename), data
