"""One function a command: what the command line, the tests and notebooks call."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from os import PathLike, fspath
from typing import TYPE_CHECKING

from attrs import evolve

from blockcheck.analysis.case import Case
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place
from blockcheck.model.build import build
from blockcheck.model.layout import TABLES
from blockcheck.model.link import link
from blockcheck.text.includes import read_files
from blockcheck.text.merge import merge

if TYPE_CHECKING:  # each answer is loaded when it is asked for
    from blockcheck.analysis.predict import Progress
    from blockcheck.answers.bench import BenchAnswer
    from blockcheck.answers.book import BookAnswer
    from blockcheck.answers.budget import BudgetAnswer
    from blockcheck.answers.channels import ChannelMap
    from blockcheck.answers.check import CheckAnswer
    from blockcheck.answers.compare import CompareAnswer
    from blockcheck.answers.draw import Drawing
    from blockcheck.answers.isolate import IsolateAnswer
    from blockcheck.answers.panel import PanelAnswer
    from blockcheck.answers.power import PowerAnswer
    from blockcheck.answers.trace import TraceAnswer
    from blockcheck.answers.wake import WakeAnswer
    from blockcheck.answers.wires import WireList


def load(path: str | PathLike[str], data: bytes | None = None, *, allow_outside: bool = False) -> Case:
    """Read a layout from its first file.

    ``data`` stands for the content of that file where it comes from elsewhere; ``allow_outside`` lets it include files
    above its folder. Raises InputError with every fault found, each at file, line and column, and CallError where the
    file cannot be opened.
    """
    files = read_files(fspath(path), data, allow_outside)
    try:
        document = merge(files, TABLES)
        return Case.of(link(document, build(document)))
    except InputError as error:
        error.files = tuple(file.path for file in files if file.path is not None)
        raise


def check(case: Case, today: date | None = None) -> CheckAnswer:
    """Is the layout right? ``today`` (default: the day it is) is what the dates of exceptions are held against."""
    from blockcheck.answers.check import check as check_case

    return check_case(case, today or date.today())


def check_files(
    paths: Iterable[str], stdin: bytes | None = None, stdin_name: str = "stdin.toml", *, allow_outside: bool = False
) -> CheckAnswer:
    """Load and check layouts; what cannot be understood is an answer too. ``-`` stands for ``stdin``.

    Raises CallError where a file cannot be opened.
    """
    from blockcheck.answers.check import joined, refused

    answers = []
    for path in paths:
        try:
            case = (
                load(stdin_name, stdin or b"", allow_outside=allow_outside)
                if path == "-"
                else load(path, allow_outside=allow_outside)
            )
            answers.append(check(case))
        except InputError as error:
            answers.append(refused(error))
    return joined(answers)


def since(answer: CheckAnswer, earlier: str, name: str = "the baseline") -> CheckAnswer:
    """Mark the findings that an earlier answer, in JSON, has already; then only the new ones fail.

    ``name`` is what messages call it. Raises CallError where it is no answer of a check.
    """
    from blockcheck.answers.baseline import compared, fingerprints

    return compared(answer, fingerprints(earlier, name))


def channels(case: Case) -> ChannelMap:
    """The channel map: which channel is which block."""
    from blockcheck.answers.channels import channels as channel_map

    return channel_map(case)


def power(case: Case) -> PowerAnswer:
    """Volts, short-circuit current and detection at the worst place of every block."""
    from blockcheck.answers.power import power as worst_places

    return worst_places(case)


def budget(case: Case) -> BudgetAnswer:
    """Who draws what against what limit, as usual and in every scenario; what fits, and what to put to sleep."""
    from blockcheck.answers.budget import budget as budgets

    return budgets(case)


def wake(case: Case) -> WakeAnswer:
    """In which stages to switch tracks on, so that no breaker locks out."""
    from blockcheck.answers.wake import waking

    return waking(case)


def wires(case: Case) -> WireList:
    """Every piece of wire, its ends and labels, what to buy, and what is on which terminal.

    Raises CallError where the list would have more than 100,000 rows.
    """
    from blockcheck.answers.wires import wires as wire_list

    return wire_list(case)


def panel(case: Case, pitch_mm: float = 25.0, columns: int = 10, group: str | None = None) -> PanelAnswer:
    """The isolators as they stand on the control panel, with holes ``pitch_mm`` apart, ``columns`` in a row at most.

    ``group`` leaves only those of one group. Raises CallError for numbers out of range, an unknown group, and a layout
    without isolators.
    """
    from blockcheck.answers.panel import panel as control_panel

    return control_panel(case, pitch_mm, columns, group)


def book(case: Case, today: date | None = None) -> BookAnswer:
    """The whole record of a layout. ``today`` (default: the day it is) is what the dates of exceptions are held to."""
    from blockcheck.answers.book import book as gather

    return gather(case, today or date.today())


def bench(
    case: Case,
    *,
    only: str | None = None,
    since: Case | None = None,
    every: bool = False,
    times: int = 1,
    tolerance: str | None = None,
    progress: Progress | None = None,
) -> BenchAnswer:
    """The test sheet: what to measure once it is wired, and what to read. Raises CallError for an unknown group.

    ``tolerance`` is written as ``5 % + 2 mohm + 0.3 V``; ``progress`` is told of work that may take longer.
    """
    from blockcheck.analysis.tolerance import tolerance_of
    from blockcheck.answers.bench import bench as sheet

    within = tolerance_of(tolerance)
    return sheet(case, within, only=only, since=since, every=every, times=times, progress=progress)


def trace(
    case: Case,
    readings: str | PathLike[str],
    data: bytes | None = None,
    *,
    tolerance: str | None = None,
    most_pairs: int | None = None,
    progress: Progress | None = None,
) -> TraceAnswer:
    """Which faults explain the readings in a filled test sheet (``bench`` as TOML), the likeliest first.

    ``data`` stands for the content of that file where it comes from elsewhere; ``most_pairs`` is how many pairs of
    faults are looked at where no single one explains everything. Raises InputError with every fault of the file, each
    at its line, and CallError where it cannot be opened.
    """
    from blockcheck.analysis.tolerance import tolerance_of
    from blockcheck.answers.trace import MOST_PAIRS
    from blockcheck.answers.trace import trace as explain
    from blockcheck.text.includes import printed_name, read_named

    name, within = fspath(readings), tolerance_of(tolerance)
    content = read_named(name, "make the sheet with: blockcheck bench FILE --format toml") if data is None else data
    pairs = MOST_PAIRS if most_pairs is None else most_pairs
    return explain(case, content, printed_name(name), within, most_pairs=pairs, progress=progress)


def netlist(case: Case) -> str:
    """The network as the layout usually stands, loads included, as a deck for ngspice: check us with it."""
    from blockcheck.analysis.electrics import Electrics
    from blockcheck.circuit.solver.netlist import netlist as deck

    electrics = Electrics.of(case, case.operations[0])
    return deck(electrics.loaded_network, electrics.loaded, case.layout.about.name)


def isolate(case: Case, tracks: str, scenario: str | None = None) -> IsolateAnswer:
    """What happens if these tracks are isolated, as usual or in a scenario. Raises CallError for unknown names."""
    from blockcheck.answers.isolate import isolate as isolate_tracks

    return isolate_tracks(case, tracks, scenario)


def draw(case: Case, scenario: str | None = None, opened: str | None = None, today: date | None = None) -> Drawing:
    """The layout as a drawing: as usual or in a scenario, with the isolators of a selection open.

    ``today`` is as in ``check``. Raises CallError for unknown names.
    """
    from blockcheck.answers.draw import drawing

    return drawing(case, scenario, opened, today)


def compare(old: Case, new: Case, today: date | None = None) -> CompareAnswer:
    """What a change does, and what it takes at the bench. ``today`` is as for ``check``."""
    from blockcheck.answers.compare import compare as compare_cases

    return compare_cases(old, new, today or date.today())


def load_two(
    old: str, new: str, stdin: bytes | None = None, stdin_name: str = "stdin.toml", *, allow_outside: bool = False
) -> tuple[Case, Case]:
    """Read two layouts; ``-`` stands for ``stdin``.

    Raises InputError with the faults of both, and CallError where a file cannot be opened or both are ``-``.
    """
    if old == new == "-":
        raise CallError("both layouts cannot be read from standard input", "write - for one of the two")
    cases, findings = [], list[Finding]()
    for path in (old, new):
        try:
            name, data = (stdin_name, stdin or b"") if path == "-" else (path, None)
            cases.append(load(name, data, allow_outside=allow_outside))
        except InputError as error:
            findings += [_from_stdin(one) for one in error.findings] if path == "-" else error.findings
    if findings:
        raise InputError(findings)
    return cases[0], cases[1]


def _from_stdin(finding: Finding) -> Finding:
    """A fault of what standard input holds, which may bear the name of the file that it is compared with."""
    at = finding.at
    return evolve(finding, at=evolve(at, file=f"{at.file} (standard input)")) if isinstance(at, Place) else finding
