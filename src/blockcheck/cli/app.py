"""The commands, in the order in which ``--help`` lists them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from blockcheck.cli import complete, output, status, workshop
from blockcheck.cli.files import Gate, write_all
from blockcheck.cli.options import (
    BookFormat,
    CheckFormat,
    CsvDialect,
    DrawFormat,
    File,
    Force,
    Output,
    Outside,
    PlainFormat,
    PowerFormat,
    Scenario,
    SheetFormat,
    StdinName,
    TableFormat,
    TextFormat,
    as_typed,
    loaded,
    second,
    severity_named,
    stdin_bytes,
)
from blockcheck.core.docs import docstring
from blockcheck.core.errors import CallError

app = typer.Typer(
    name="blockcheck",
    help="Checks the track wiring of a model railway: detection, isolation, power districts.",
    epilog="Exit status: 0 all is well, 1 something was found that is not meant, 2 the input or the call could not "
    "be understood, 3 a defect of blockcheck itself. A layout to begin with: blockcheck new layout.toml",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    add_completion=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
)


def _version(wanted: bool) -> None:
    if wanted:
        from blockcheck import __version__

        output.emit(f"blockcheck {__version__}\n")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Checks the track wiring of a model railway: detection, isolation, power districts."""


@app.command()
def check(
    files: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE...", help="Layouts, each by its first file; - reads standard input.", show_default=False
        ),
    ],
    format: CheckFormat = "text",
    outputs: Output = None,
    force: Force = False,
    fail_on: Annotated[
        str,
        typer.Option(
            "--fail-on",
            metavar="SEVERITY",
            help="From which severity on to exit with 1: error, warning, note or never.",
            autocompletion=complete.severities,
        ),
    ] = "error",
    baseline: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--baseline", metavar="FILE", help="An earlier answer in JSON: fail only on what is new since."),
    ] = None,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Is it right? Findings, and what was not checked and why.

    What was accepted in the layout is listed too. Exits 1 when there is a finding at or above --fail-on.
    """
    from blockcheck.answers.baseline import HELP, compared, fingerprints
    from blockcheck.cli.layouts import check_files
    from blockcheck.cli.repository import in_repository, job_summary
    from blockcheck.formats.registry import formats_of
    from blockcheck.text.includes import read_text

    level = severity_named(fail_on)
    earlier = None if baseline is None else read_text(baseline, HELP, second(baseline, files, "the baseline"))
    data, named = stdin_bytes(*files), [stdin_filename if file == "-" else file for file in files]
    answer = check_files(files, data, stdin_filename, allow_outside=allow_outside)
    if baseline is not None and earlier is not None:
        answer = compared(answer, fingerprints(earlier, baseline))
    gate = Gate(answer.files, [] if baseline is None else [baseline], force)
    formats = formats_of(answer, fail_on=level, path_of=in_repository(named))
    output.deliver(formats, format, outputs or [], gate, csv_dialect)
    if "github" in (format, *(one.partition("=")[0] for one in outputs or [])):
        job_summary(answer)
    if not answer.understood:
        raise typer.Exit(status.NOT_UNDERSTOOD)
    raise typer.Exit(status.FOUND if answer.fails(level) else status.OK)


@app.command()
def channels(
    file: File,
    format: SheetFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The channel map: which channel is which block."""
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(formats_of(api.channels(study)), format, outputs or [], Gate(study.files, force=force), csv_dialect)


@app.command()
def isolate(
    file: File,
    tracks: Annotated[
        Optional[str],  # noqa: UP045
        typer.Argument(
            metavar="[TRACKS]",
            help="Tracks, blocks, isolators or groups: 3-7, lower:3-7, S3,I4.",
            autocompletion=complete.track_names,
            callback=as_typed,
            show_default=False,
        ),
    ] = None,
    scenario: Scenario = None,
    each: Annotated[bool, typer.Option("--each", help="Every isolator alone, in the place of TRACKS.")] = False,
    format: TableFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """What happens if I isolate tracks, to power and detection.

    Exits 1 when something happens that is not meant.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    if (tracks is None) is not each:
        write = f"blockcheck isolate {file} 3-7, or blockcheck isolate {file} --each"
        raise CallError("isolate wants either TRACKS or --each", write)
    answer = api.isolate_each(study, scenario) if tracks is None else api.isolate(study, tracks, scenario)
    output.deliver(formats_of(answer), format, outputs or [], Gate(study.files, force=force), csv_dialect)
    raise typer.Exit(status.FOUND if answer.unintended else status.OK)


@app.command()
def power(
    file: File,
    netlist: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--netlist", metavar="FILE", help="Also write the network as a deck for ngspice."),
    ] = None,
    format: PowerFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Volts, short current and detection, where they are worst.

    One line a block, at its worst place.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    outputs = [*(outputs or []), *([] if netlist is None else [f"netlist={netlist}"])]
    output.deliver(formats_of(api.power(study)), format, outputs, Gate(study.files, force=force), csv_dialect)


@app.command()
def budget(
    file: File,
    format: TableFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Who draws what, what still fits, and what to put to sleep.

    For the layout as it usually stands and for every scenario. Where it does not fit, the fewest tracks to put to
    sleep are named.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(formats_of(api.budget(study)), format, outputs or [], Gate(study.files, force=force), csv_dialect)


@app.command()
def wake(
    file: File,
    format: TableFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """In what stages to wake tracks, so that no breaker locks out."""
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(formats_of(api.wake(study)), format, outputs or [], Gate(study.files, force=force), csv_dialect)


@app.command()
def book(
    file: File,
    format: BookFormat = None,
    outputs: Output = None,
    force: Force = False,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The whole record to hand over and file.

    -o book.html is a page to print, -o book.xlsx a workbook of every table.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(
        formats_of(api.book(study)),
        format or (None if outputs else "html"),
        outputs or [],
        Gate(study.files, force=force),
    )


@app.command()
def draw(
    file: File,
    scenario: Scenario = None,
    opened: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--open",
            metavar="TRACKS",
            help="Draw these isolated: 3-7, lower:3-7, S3,I4.",
            autocompletion=complete.track_names,
            callback=as_typed,
        ),
    ] = None,
    format: DrawFormat = None,
    outputs: Output = None,
    force: Force = False,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The layout as a drawing: track, feeds, states and findings."""
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(
        formats_of(api.draw(study, scenario, opened)),
        format or (None if outputs else "svg"),
        outputs or [],
        Gate(study.files, force=force),
    )


@app.command()
def compare(
    old: Annotated[
        str, typer.Argument(metavar="OLD", help="The layout as it is; - reads standard input.", show_default=False)
    ],
    new: Annotated[
        str, typer.Argument(metavar="NEW", help="The layout as it will be; - reads standard input.", show_default=False)
    ],
    exit_code: Annotated[bool, typer.Option("--exit-code", help="Exit with 1 when the wiring differs.")] = False,
    format: TableFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """What a change does: wires, labels, tests, budgets, findings.

    The wires to touch, the labels to print and the tests to repeat; findings and budgets before and after.
    """
    from blockcheck import api
    from blockcheck.cli.layouts import load_two
    from blockcheck.formats.registry import formats_of

    cases = load_two(old, new, stdin_bytes(old, new), stdin_filename, allow_outside=allow_outside)
    answer = api.compare(*cases)
    gate = Gate([path for study in cases for path in study.files], force=force)
    output.deliver(formats_of(answer), format, outputs or [], gate, csv_dialect)
    raise typer.Exit(status.FOUND if exit_code and answer.wiring_differs else status.OK)


for command in (workshop.wires, workshop.panel, workshop.bench, workshop.trace):
    app.command()(command)


@app.command()
def explain(
    name: Annotated[
        Optional[str],  # noqa: UP045
        typer.Argument(
            metavar="[RULE|KEY]",
            help="A rule, or a table or key of the layout: blocks, blocks.length.",
            autocompletion=complete.explained,
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="All rules at length: the whole reference.")] = False,
    format: TextFormat = "text",
    outputs: Output = None,
    force: Force = False,
) -> None:
    """What a rule holds, or a key means; without a name, the lists.

    A rule is told with why it holds, how to mend what breaks it, and an example; a key with the keys inside it.
    """
    from blockcheck.answers.explain import asked
    from blockcheck.formats.registry import formats_of

    output.deliver(formats_of(asked(name, every)), format, outputs or [], Gate(force=force))


@app.command()
def new(
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="The file to write; left out: standard output.")
    ] = None,
    format: PlainFormat = "text",
    force: Force = False,
) -> None:
    """A commented layout to start from."""
    from blockcheck.answers.new import new as new_layout
    from blockcheck.core.shown import plain
    from blockcheck.formats.registry import formats_of

    if file is None:
        output.deliver(formats_of(new_layout()), format, [])
        return
    name, content = str(Path(file)), new_layout(plain(Path(file).name)).text.encode()
    Gate(force=force).check(name, "toml", content)
    write_all([(name, content)], lambda: output.emit(f"{file} is written. Check it with: blockcheck check {file}\n"))


for _command in app.registered_commands:
    if _command.callback is not None and _command.callback.__doc__ is None:  # Python was told to drop docstrings
        _command.help = docstring(_command.callback)
