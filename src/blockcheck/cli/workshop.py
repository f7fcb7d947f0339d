"""The commands for the workshop: what is cut, labelled, drilled, measured and traced. ``app`` puts them in order."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from blockcheck.cli import output, status
from blockcheck.cli.files import Gate
from blockcheck.cli.options import (
    CsvDialect,
    File,
    Force,
    Output,
    Outside,
    PanelFormat,
    Paper,
    SheetFormat,
    StdinName,
    TextFormat,
    Tolerance,
    WiresFormat,
    as_typed,
    loaded,
    second,
)


def wires(
    file: File,
    only: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--only", metavar="PART", help="One part of the list: pieces, totals or strips; JSON always has all."
        ),
    ] = None,
    label_size: Annotated[
        str, typer.Option("--label-size", metavar="WxH", help="Width and height of a label, in mm.")
    ] = "38x12",
    gap: Annotated[str, typer.Option("--gap", metavar="XxY", help="What is free between labels, in mm.")] = "2x0",
    margin: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--margin", metavar="XxY", help="What is free left of and above the first label, in mm; left out: centred."
        ),
    ] = None,
    start: Annotated[
        int, typer.Option("--start", metavar="N", help="Place of the first label on the first sheet.")
    ] = 1,
    sheet: Annotated[int, typer.Option("--sheet", metavar="N", help="Which sheet labels-svg draws.")] = 1,
    outline: Annotated[bool, typer.Option("--outline/--no-outline", help="Draw the edges of the labels.")] = True,
    paper: Paper = None,
    format: WiresFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Every piece of wire: ends, labels, lengths; what to buy.

    And which wire is on which terminal. --format labels-html prints a label for every end.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    formats = formats_of(
        api.wires(study),
        only=only,
        label_size=label_size,
        gap=gap,
        margin=margin,
        start=start,
        sheet=sheet,
        outline=outline,
        paper=paper,
    )
    output.deliver(formats, format, outputs or [], Gate(study.files, force=force), csv_dialect)


def panel(
    file: File,
    pitch: Annotated[
        str, typer.Option("--pitch", metavar="LENGTH", help="Between two holes of a row; twice as much between rows.")
    ] = ("25 mm"),
    columns: Annotated[int, typer.Option("--columns", metavar="N", help="Most holes in a row.")] = 10,
    group: Annotated[
        str | None,
        typer.Option("--group", metavar="GROUP", help="Only the isolators of this group.", callback=as_typed),
    ] = None,
    hole: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(
            "--hole", metavar="LENGTH", help="Also draw the holes, of this diameter; left out: only their centres."
        ),
    ] = None,
    paper: Paper = None,
    format: PanelFormat = None,
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The isolators on the control panel, at 1:1 to drill by.

    --format html spreads the panel over sheets of paper.
    """
    from blockcheck import api
    from blockcheck.formats.registry import formats_of

    study = loaded(file, stdin_filename, allow_outside)
    output.deliver(
        formats_of(api.panel(study, pitch, columns, group), paper=paper, hole=hole),
        format or (None if outputs else "svg"),
        outputs or [],
        Gate(study.files, force=force),
        csv_dialect,
    )


def bench(
    file: File,
    only: Annotated[
        str | None, typer.Option("--only", metavar="GROUP", help="Only the tests of this group.", callback=as_typed)
    ] = None,
    since: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--since", metavar="OLD", help="Only what differs from this older layout."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every test, not the fewest.")] = False,
    times: Annotated[
        int, typer.Option("--times", metavar="N", min=1, max=5, help="Tell each pair of faults so many times.")
    ] = 1,
    tolerance: Tolerance = None,
    format: SheetFormat = "text",
    outputs: Output = None,
    force: Force = False,
    csv_dialect: CsvDialect = "comma",
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """The test sheet: what to measure once it is wired.

    Each step says where to put the probes and what to read. -o readings.toml is the sheet to fill in, for trace.
    """
    from blockcheck import api
    from blockcheck.cli.progress import shown_progress
    from blockcheck.formats.registry import formats_of

    data = None if since is None else second(since, [file], "the older layout")
    study = loaded(file, stdin_filename, allow_outside)
    old = None
    if since is not None:
        old = api.load(since if data is None else stdin_filename, data=data, allow_outside=allow_outside)
    with shown_progress() as progress:
        answer = api.bench(
            study, only=only, since=old, every=every, times=times, tolerance=tolerance, progress=progress
        )
    gate = Gate([*study.files, *(old.files if old is not None else ())], force=force)
    output.deliver(formats_of(answer), format, outputs or [], gate, csv_dialect)


def trace(
    file: File,
    readings: Annotated[
        str, typer.Argument(metavar="READINGS", help="The filled test sheet (TOML).", show_default=False)
    ],
    pairs: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option(
            "--pairs",
            metavar="N",
            min=0,
            help="Look at so many pairs of faults where no single one explains everything.",
        ),
    ] = None,
    tolerance: Tolerance = None,
    format: TextFormat = "text",
    outputs: Output = None,
    force: Force = False,
    stdin_filename: StdinName = "stdin.toml",
    allow_outside: Outside = False,
) -> None:
    """Which wiring faults explain the readings of a test sheet.

    Exits 1 when a reading is not as expected.
    """
    from blockcheck import api
    from blockcheck.cli.progress import shown_progress
    from blockcheck.formats.registry import formats_of

    data = second(readings, [file], "the readings")
    study = loaded(file, stdin_filename, allow_outside)
    name = readings if data is None else stdin_filename
    with shown_progress() as progress:
        answer = api.trace(study, name, data=data, pairs=pairs, tolerance=tolerance, progress=progress)
    output.deliver(formats_of(answer), format, outputs or [], Gate(study.files, [readings], force))
    raise typer.Exit(status.FOUND if answer.off else status.OK)
