"""The commands, in the order in which ``--help`` lists them.

Each is a function of a layout, or of where layouts come from, and of the arguments and options that it alone has; what
all have in common is added by ``command``. Annotations are read when a command is made, so they are no texts here.
"""

import gc
import os
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from blockcheck.cli import complete, output, starting, status, workshop
from blockcheck.cli.command import Result, Source, command
from blockcheck.cli.options import AtHand, File, Opened, Scenario, Tracks, severity_named, stdin_bytes
from blockcheck.core.docs import docstring
from blockcheck.core.errors import CallError

if TYPE_CHECKING:
    from blockcheck import types
    from blockcheck.core.findings import Severity
    from blockcheck.types import CheckAnswer, Study

INSTALL_EDITOR = 'run: pip install "blockcheck-rail[editor]", or in a clone: pip install ".[editor]"'
TABLES = "text, json, csv, markdown, html, xlsx"


def _version(wanted: bool) -> None:
    if wanted:
        from blockcheck import __version__

        output.emit(f"blockcheck {__version__}\n")
        raise typer.Exit


def main(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Checks the track wiring of a model railway: detection, isolation, power districts."""


def check(
    source: Source,
    files: Annotated[
        list[str],
        typer.Argument(
            metavar="FILE...", help="Layouts, each by its first file; - reads standard input.", show_default=False
        ),
    ],
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
        str | None,
        typer.Option("--baseline", metavar="FILE", help="An earlier answer in JSON: fail only on what is new since."),
    ] = None,
    mend: Annotated[
        bool, typer.Option("--mend", help="Show what the mends that are sure would change in the file, and why.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="With --mend: write the changes too.")] = False,
) -> Result:
    """Is it right? Findings, and what was not checked and why.

    What was accepted in the layout is listed too. Exits 1 when there is a finding at or above --fail-on. --mend shows
    the mends that are sure as a difference, and with --yes writes them.
    """
    from blockcheck.answers.checking.baseline import HELP, compared, fingerprints
    from blockcheck.cli.layouts import check_files
    from blockcheck.cli.repository import in_repository, job_summary
    from blockcheck.text.includes import read_text

    level = severity_named(fail_on)
    if yes and not mend:
        raise CallError("--yes goes with --mend", "see what would change with --mend alone")
    if mend:
        _mended(files, source, yes, level)
    earlier = None if baseline is None else read_text(baseline, HELP, source.beside(baseline, "the baseline"))
    answer = check_files(files, stdin_bytes(*files), source.stdin_filename, allow_outside=source.allow_outside)
    if baseline is not None and earlier is not None:
        answer = compared(answer, fingerprints(earlier, baseline))
    return Result(
        answer,
        {"fail_on": level, "path_of": in_repository([source.named(file, None)[0] for file in files])},
        answer.files,
        [] if baseline is None else [baseline],
        _status(answer, level),
        then=lambda formats: job_summary(answer) if "github" in formats else None,
    )


def _mended(files: list[str], source: Source, write: bool, level: "Severity | None") -> NoReturn:
    """Show what mends would change, or write it; the status is that of the layout as it lies there afterwards."""
    from blockcheck.cli.files import rewrite_all
    from blockcheck.cli.mends import mended, shown_mends

    if len(files) > 1 or (write and "-" in files):
        told = "one layout is mended at a time" if len(files) > 1 else "standard input cannot be mended"
        raise CallError(told, "name its first file")
    name, data = source.named(files[0], stdin_bytes(files[0]))
    answer = mended(name, data, allow_outside=source.allow_outside)
    changes = answer.changes() if write else []
    rewrite_all(changes, lambda: output.emit(shown_mends(answer, write)))
    if not write and answer.done:
        output.emit(f"Nothing is written yet; write it with: blockcheck check {files[0]} --mend --yes\n")
    left = answer.left if write else (*answer.done, *answer.left)
    failed = level is not None and any(one.severity.rank <= level.rank for one in left)
    unread = any(one.rule == "input" for one in left)
    raise typer.Exit(status.NOT_UNDERSTOOD if unread else status.FOUND if failed else status.OK)


def _status(answer: "CheckAnswer", level: "Severity | None") -> int:
    if not answer.understood:
        return status.NOT_UNDERSTOOD
    return status.FOUND if answer.fails(level) else status.OK


def channels(study: "Study") -> Result:
    """The channel map: which channel is which block."""
    from blockcheck import api

    return Result(api.channels(study))


def isolate(
    study: "Study",
    tracks: Tracks = None,
    scenario: Scenario = None,
    each: Annotated[bool, typer.Option("--each", help="Every isolator alone, in the place of TRACKS.")] = False,
) -> Result:
    """What happens if I isolate tracks, to power and detection.

    Without tracks, how everything stands as usual or in a scenario, or with controls set: a sheet for tonight. Exits
    1 when something happens that is not meant.
    """
    from blockcheck import api
    from blockcheck.model.select import parted

    if tracks is not None and each:
        raise CallError("isolate wants either TRACKS or --each", "blockcheck isolate FILE 3-7, or FILE --each")
    if each:
        answer: types.EachAnswer | types.StateAnswer | types.IsolateAnswer = api.isolate_each(study, scenario)
    elif tracks is None or parted(study.wiring, tracks)[0] is None:
        answer = api.isolate_state(study, scenario, tracks)
    else:
        answer = api.isolate(study, tracks, scenario)
    return Result(answer, status=status.FOUND if answer.unintended else status.OK)


def power(
    study: "Study",
    scenario: Scenario = None,
    opened: Opened = None,
    netlist: Annotated[
        str | None, typer.Option("--netlist", metavar="FILE", help="Also write the network as a deck for ngspice.")
    ] = None,
) -> Result:
    """Volts, short current and detection, where they are worst.

    One line a block, at its worst place, as usual or in a scenario.
    """
    from blockcheck import api

    return Result(api.power(study, scenario, opened), outputs=[] if netlist is None else [f"netlist={netlist}"])


def budget(study: "Study", scenario: Scenario = None, opened: Opened = None) -> Result:
    """Who draws what, what still fits, and what to put to sleep.

    For the layout as it usually stands and for every scenario, or for the state that is asked for. Where it does not
    fit, the fewest tracks to put to sleep are named.
    """
    from blockcheck import api

    return Result(api.budget(study, scenario, opened))


def wake(study: "Study", scenario: Scenario = None, opened: Opened = None) -> Result:
    """In what stages to wake tracks, so that no breaker locks out.

    From all asleep to the usual state, or to what a scenario lights.
    """
    from blockcheck import api

    return Result(api.wake(study, scenario, opened))


def book(
    source: Source,
    file: File,
    with_: Annotated[
        str | None, typer.Option("--with", metavar="PARTS", help="Only these parts: wires,panel,bench.")
    ] = None,
    without: Annotated[str, typer.Option("--without", metavar="PARTS", help="All parts but these.")] = "",
    readings: Annotated[
        str | None,
        typer.Option("--readings", metavar="READINGS", help="A filled test sheet: what was read last is told."),
    ] = None,
    date: Annotated[str, typer.Option("--date", metavar="DATE", help="A date for the cover; left out: none.")] = "",
    revision: Annotated[
        str, typer.Option("--revision", metavar="TEXT", help="A revision for the cover; left out: none.")
    ] = "",
) -> Result:
    """The whole record to hand over and file.

    -o book.html is a page to print, -o book.xlsx a workbook of every table. Its parts are drawing, channels, wires,
    labels, panel, budget, power, wake, bench, findings and description.
    """
    from blockcheck import api

    name, data = (None, None) if readings is None else source.named(readings, source.beside(readings, "the readings"))
    study = source.load(file)
    answer = api.book(
        study,
        with_=None if with_ is None else _names(with_),
        without=_names(without),
        readings=name,
        data=data,
        dated=date,
        revision=revision,
    )
    return Result(answer, read=study.files, beside=[readings] if readings is not None else [])


def _names(text: str) -> list[str]:
    return [one.strip() for one in text.split(",") if one.strip()]


def draw(
    study: "Study",
    scenario: Scenario = None,
    opened: Opened = None,
    show: Annotated[
        str,
        typer.Option("--show", metavar="LAYERS", help="Shown on the track: districts, trains, drops, boards; or none."),
    ] = "districts,trains",
) -> Result:
    """The layout as a drawing: track, feeds, states and findings."""
    from blockcheck import api

    return Result(api.draw(study, scenario, opened, show=show))


def page(
    source: Source,
    file: File,
    live: Annotated[
        bool,
        typer.Option("--live", help="Serve it on this computer, and follow the files; nothing is written."),
    ] = False,
    share: Annotated[
        bool, typer.Option("--share", help="With --live: for others in this network too, by an address with a key.")
    ] = False,
    port: Annotated[
        int | None,
        typer.Option("--port", metavar="N", min=0, max=65535, help="With --live: its port; 8765 where it is left out."),
    ] = None,
    at_hand: AtHand = "beeper,axle",
) -> Result:
    """The page in hand: one file that answers on a phone, offline.

    -o yard.html writes it. Touch tracks to put them to sleep: it says what isolate says. --live follows the files, and
    answers what takes the electrics.
    """
    from blockcheck import api

    for option, given, more in ("--share", share, ""), ("--port", port is not None, " N"):
        if given and not live:
            raise CallError(f"{option} goes with --live", f"blockcheck page FILE --live {option}{more}")
    instruments = [one.strip() for one in at_hand.split(",")]
    if not live:
        from blockcheck.cli.progress import shown_progress

        study = source.load(file)
        with shown_progress() as progress:
            return Result(api.page(study, at_hand=instruments, progress=progress), read=study.files)
    if file == "-":
        raise CallError("--live follows files, and standard input is none", "name the layout's first file")
    from blockcheck.live.run import serve

    serve(file, at_hand=instruments, share=share, port=port, allow_outside=source.allow_outside, say=output.emit)
    raise typer.Exit


def compare(
    source: Source,
    old: Annotated[
        str, typer.Argument(metavar="OLD", help="The layout as it is; - reads standard input.", show_default=False)
    ],
    new: Annotated[
        str, typer.Argument(metavar="NEW", help="The layout as it will be; - reads standard input.", show_default=False)
    ],
    exit_code: Annotated[bool, typer.Option("--exit-code", help="Exit with 1 when the wiring differs.")] = False,
) -> Result:
    """What a change does: wires, labels, tests, budgets, findings.

    The wires to touch, the labels to print and the tests to repeat; findings and budgets before and after.
    """
    from blockcheck import api
    from blockcheck.cli.layouts import load_two

    data = stdin_bytes(old, new)
    studies = load_two(old, new, data, source.stdin_filename, allow_outside=source.allow_outside)
    answer = api.compare(*studies)
    differs = exit_code and answer.wiring_differs
    return Result(
        answer,
        read=[path for study in studies for path in study.files],
        status=status.FOUND if differs else status.OK,
    )


def explain(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[RULE|KEY|WORD]",
            help="A rule, a table or key of the layout, or a word of the trade: blocks, blocks.length, near.",
            autocompletion=complete.explained,
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="All rules at length: the whole reference.")] = False,
) -> Result:
    """What a rule holds, a key or a word means; without a name, lists.

    A rule is told with why it holds, how to mend what breaks it, and an example; a table with lines to copy.
    """
    from blockcheck.answers.explain import asked

    return Result(asked(name, every))


def lsp() -> None:
    """A language server for editors.

    An editor starts it, and shows findings, help and mends while one types. It wants blockcheck-rail[editor].
    """
    try:
        from blockcheck.editor.server import server
    except ModuleNotFoundError as error:
        if error.name not in ("pygls", "lsprotocol"):
            raise
        raise CallError("the language server needs a package that is not installed", INSTALL_EDITOR) from None
    gc.enable()  # it runs as long as the editor does
    server().start_io()


COMMANDS: dict[str, Callable[[], Callable[..., None]]] = {
    # in the order in which help lists them; each is made when it is wanted
    "check": lambda: command(f"{TABLES}, sarif, junit, github")(check),
    "channels": lambda: command(f"{TABLES}, toml")(channels),
    "isolate": lambda: command(TABLES)(isolate),
    "power": lambda: command(f"{TABLES}, netlist")(power),
    "budget": lambda: command(TABLES)(budget),
    "wake": lambda: command(TABLES)(wake),
    "book": lambda: command("html, xlsx", "html", drawn=True)(book),
    "draw": lambda: command("svg, json", "svg", drawn=True)(draw),
    "compare": lambda: command(TABLES)(compare),
    "wires": lambda: command(f"{TABLES}, labels-html, labels-svg, labels-csv")(workshop.wires),
    "panel": lambda: command("svg, text, json, csv, markdown, html, xlsx", "svg", drawn=True)(workshop.panel),
    "bench": lambda: command(f"{TABLES}, toml")(workshop.bench),
    "trace": lambda: command("text, json, markdown, html")(workshop.trace),
    "where": lambda: command(TABLES)(workshop.where),
    "page": lambda: command("html, json", "html", drawn=True)(page),
    "explain": lambda: command("text, json, markdown, html")(explain),
    "new": lambda: starting.new,
    "lsp": lambda: lsp,
}


def app_of(words: Sequence[str] = ()) -> typer.Typer:
    """The command line for a call: with the command that the call begins with alone, or else with all.

    Making all of them takes as long as most answers do.
    """
    app = typer.Typer(
        name="blockcheck",
        help=docstring(main),
        epilog="Exit status: 0 all is well, 1 something was found that is not meant, 2 the input or the call could not "
        "be understood, 3 a defect of blockcheck itself. A layout to begin with: blockcheck new layout.toml",
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        add_completion=True,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
    )
    app.callback()(main)
    completes = "_BLOCKCHECK_COMPLETE" in os.environ
    for name in [name for name in words[:1] if name in COMMANDS and not completes] or COMMANDS:
        function = COMMANDS[name]()
        app.command(name, help=docstring(function))(function)
    return app
