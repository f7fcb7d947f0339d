"""The commands for the workshop: what is cut, labelled, drilled, measured and traced. ``app`` puts them in order."""

from typing import TYPE_CHECKING, Annotated

import typer

from blockcheck.cli import complete, status
from blockcheck.cli.command import Result, Source
from blockcheck.cli.options import AtHand, File, Paper, Seconds, Tolerance, as_typed
from blockcheck.core.errors import CallError

if TYPE_CHECKING:
    from blockcheck.types import Study


def wires(
    study: "Study",
    only: Annotated[
        str | None,
        typer.Option(
            "--only", metavar="PART", help="One part of the list: pieces, totals or strips; JSON always has all."
        ),
    ] = None,
    label_size: Annotated[
        str, typer.Option("--label-size", metavar="WxH", help="Width and height of a label, in mm.")
    ] = "38x12",
    gap: Annotated[str, typer.Option("--gap", metavar="XxY", help="What is free between labels, in mm.")] = "2x0",
    margin: Annotated[
        str | None,
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
) -> Result:
    """Every piece of wire: ends, labels, lengths; what to buy.

    And which wire is on which terminal. --format labels-html prints a label for every end.
    """
    from blockcheck import api

    labels = {"label_size": label_size, "gap": gap, "margin": margin, "start": start, "sheet": sheet}
    return Result(api.wires(study), {"only": only, **labels, "outline": outline, "paper": paper})


def panel(
    study: "Study",
    pitch: Annotated[
        str, typer.Option("--pitch", metavar="LENGTH", help="Between two holes of a row; twice as much between rows.")
    ] = "25 mm",
    columns: Annotated[int, typer.Option("--columns", metavar="N", help="Most holes in a row.")] = 10,
    group: Annotated[
        str | None,
        typer.Option("--group", metavar="GROUP", help="Only the isolators of this group.", callback=as_typed),
    ] = None,
    hole: Annotated[
        str | None,
        typer.Option(
            "--hole", metavar="LENGTH", help="Also draw the holes, of this diameter; left out: only their centres."
        ),
    ] = None,
    paper: Paper = None,
) -> Result:
    """The isolators on the control panel, at 1:1 to drill by.

    --format html spreads the panel over sheets of paper.
    """
    from blockcheck import api

    return Result(api.panel(study, pitch, columns, group), {"paper": paper, "hole": hole})


def bench(
    source: Source,
    file: File,
    only: Annotated[
        str | None, typer.Option("--only", metavar="GROUP", help="Only the tests of this group.", callback=as_typed)
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="OLD", help="Only what differs from this older layout.")
    ] = None,
    at_hand: AtHand = "beeper,axle",
    each: Annotated[bool, typer.Option("--each", help="Tell each fault from every other, not only see it.")] = False,
    every: Annotated[bool, typer.Option("--all", help="Every test, not the fewest.")] = False,
    times: Annotated[
        int, typer.Option("--times", metavar="N", min=1, max=5, help="See (or tell) each fault so many times.")
    ] = 1,
    tolerance: Tolerance = None,
    seconds: Seconds = 60,
) -> Result:
    """The test sheet: what to measure once it is wired.

    Steps stand by place, each with what to read; what nothing at hand can see is told. -o readings.toml is the sheet to
    fill in, for trace.
    """
    from blockcheck import api
    from blockcheck.cli.progress import shown_progress

    data = None if since is None else source.beside(since, "the older layout")
    study, old = source.load(file), None if since is None else source.load(since, data)
    with shown_progress(seconds) as progress:
        answer = api.bench(
            study,
            at_hand=[one.strip() for one in at_hand.split(",")],
            only=only,
            since=old,
            each=each,
            every=every,
            times=times,
            tolerance=tolerance,
            progress=progress,
        )
    return Result(answer, read=[*study.files, *(old.files if old is not None else ())])


def trace(
    source: Source,
    file: File,
    readings: Annotated[
        str,
        typer.Argument(metavar="READINGS", help="The filled test sheet: TOML, CSV or a workbook.", show_default=False),
    ],
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="EARLIER", help="Earlier readings, or -: tell what has changed since."),
    ] = None,
    pairs: Annotated[
        int | None,
        typer.Option(
            "--pairs",
            metavar="N",
            min=0,
            help="Look at so many pairs of faults where no single one explains everything.",
        ),
    ] = None,
    tolerance: Tolerance = None,
    seconds: Seconds = 60,
) -> Result:
    """Which wiring faults explain the readings of a test sheet.

    Exits 1 when a reading is not as expected.
    """
    from blockcheck import api
    from blockcheck.cli.progress import shown_progress

    if readings == since == "-":
        told = "the readings and the earlier ones cannot both be read from standard input"
        raise CallError(told, "write - for one of the two")
    name, data = source.named(readings, source.beside(readings, "the readings"))
    earlier, before = since, None
    if since is not None:
        earlier, before = source.named(since, source.beside(since, "the earlier readings"))
    study = source.load(file)
    with shown_progress(seconds) as progress:
        answer = api.trace(
            study,
            name,
            data=data,
            since=earlier,
            since_data=before,
            pairs=pairs,
            tolerance=tolerance,
            progress=progress,
        )
    beside = [readings, *([since] if since is not None else [])]
    return Result(answer, read=study.files, beside=beside, status=status.FOUND if answer.off else status.OK)


def where(
    study: "Study",
    label: Annotated[
        str,
        typer.Argument(
            metavar="LABEL",
            help="A label, terminal, channel, or a part: 'D1:3 > I3:in', I3:in, D1.3, S3.",
            autocompletion=complete.where_names,
            callback=as_typed,
            show_default=False,
        ),
    ],
) -> Result:
    """Where a label leads: both ends of its wire, and the next test.

    And what is beside it, the blocks that it serves, and the way of the current from the booster to them and back.
    """
    from blockcheck import api

    return Result(api.where(study, label))
