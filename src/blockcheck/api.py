"""One function a command: what the command line, the tests and notebooks call."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date
from os import PathLike, fspath
from pathlib import Path as FilePath
from typing import Any, overload

from blockcheck import types  # each type is imported when it is asked for, and each answer when it is made
from blockcheck.analysis.study import Study
from blockcheck.core.errors import CallError, InputError
from blockcheck.model.build import build
from blockcheck.model.layout import TABLES
from blockcheck.model.link import link
from blockcheck.model.tables.chain import with_leads
from blockcheck.model.tables.selectors import with_contacts
from blockcheck.model.tables.through import with_harnesses
from blockcheck.text.includes import read_files
from blockcheck.text.merge import merge

_Progress = Callable[[str, int, int], None]
_SHEET = "make the sheet with: blockcheck bench FILE --format toml"


def load(
    path: str | PathLike[str],
    *,
    data: str | bytes | None = None,
    unsaved: Mapping[str, str | bytes] | None = None,
    allow_outside: bool = False,
) -> types.Study:
    """Read a layout from its first file, and all that it includes.

    ``data`` stands for the content of that file where it comes from elsewhere: text, or bytes in UTF-8; ``unsaved`` for
    that of included files, by their paths, as an editor holds it. ``allow_outside`` lets it include files above its
    folder. Raises InputError with every fault found, each at its place, and CallError where a file cannot be opened.
    """
    name = fspath(path)
    if data is None and "\n" in name:
        raise CallError("load takes the name of a file, and was given text", "read a layout from text with loads")
    others = {FilePath(one): _bytes(content) or b"" for one, content in (unsaved or {}).items()}
    files = read_files(name, _bytes(data), allow_outside, others)
    try:
        document = merge(files, TABLES)
        return Study.of(link(document, with_leads(with_harnesses(with_contacts(document, build(document))))))
    except InputError as error:
        error.files = tuple(file.path for file in files if file.path is not None)
        raise


def loads(text: str | bytes, name: str | PathLike[str] = "layout.toml", *, allow_outside: bool = False) -> types.Study:
    """Read a layout from its text: that of its first file, which includes what lies beside ``name``.

    ``name`` is what messages call it. Raises InputError with every fault found, each at its line and column, and
    CallError for the name of a file in place of the text.
    """
    if isinstance(text, str) and text.endswith(".toml"):
        raise CallError("loads takes the text of a layout, and was given a name", f'read a file with load("{text}")')
    return load(name, data=text, allow_outside=allow_outside)


def check(
    study: types.Study, today: date | None = None, *, baseline: types.CheckAnswer | Mapping[str, Any] | None = None
) -> types.CheckAnswer:
    """Is the layout right? Its findings, worst first, each at its place; and what may have kept others from being told.

    ``today`` (default: the day it is) is what the dates of exceptions are held against. ``baseline`` is an earlier
    answer, or its ``to_dict()``: findings that it has are then ``known``, and only ``new`` ones fail. Raises InputError
    where the layout names a rule that does not exist, and CallError for a baseline that is no answer of a check.
    """
    from blockcheck.answers.checking.check import check as check_study

    answer = check_study(_loaded(study), today or date.today())
    if baseline is None:
        return answer
    from blockcheck.answers.checking.baseline import compared, fingerprints_of

    earlier = baseline.to_dict() if isinstance(baseline, types.CheckAnswer) else baseline
    return compared(answer, fingerprints_of(earlier, "the baseline"))


def channels(study: types.Study) -> types.ChannelMap:
    """The channel map: which channel is which block, which are spare, and which blocks have none.

    A row a channel, by boards and numbers; lengths in metres. Raises CallError for what is no layout that was loaded.
    """
    from blockcheck.answers.channels import channels as channel_map

    return channel_map(_loaded(study))


def power(study: types.Study, scenario: str | None = None, opened: str | None = None) -> types.PowerAnswer:
    """Volts, short-circuit current and detection at the worst place of every block: a row a block.

    As usual or in a scenario, with the isolators of a selection open, written as the tracks of ``isolate``. In volts
    and amperes, places in metres from the near end of the block. Raises CallError for names that the layout does not
    have.
    """
    from blockcheck.answers.power import power as worst_places

    return worst_places(_loaded(study), scenario, opened)


def budget(study: types.Study, scenario: str | None = None, opened: str | None = None) -> types.BudgetAnswer:
    """Who draws what against what limit, as usual and in every scenario; what fits, and what to put to sleep.

    With a scenario, or with a selection open that is written as the tracks of ``isolate``, of that state alone. In
    amperes. Raises CallError for names that the layout does not have.
    """
    from blockcheck.answers.budget import budget as budgets

    return budgets(_loaded(study), scenario, opened)


def wake(study: types.Study, scenario: str | None = None, opened: str | None = None) -> types.WakeAnswer:
    """In which stages to switch tracks on, so that no breaker locks out: district by district.

    From all asleep to the usual state or a scenario, with the isolators of a selection open, written as the tracks of
    ``isolate``. In amperes and seconds. Raises CallError for names that the layout does not have.
    """
    from blockcheck.answers.wake import waking

    return waking(_loaded(study), scenario, opened)


def wires(study: types.Study) -> types.WireList:
    """Every piece of wire, its ends and labels, what to buy, and what is on which terminal; lengths in metres.

    Raises CallError where the list would have more than 100,000 rows.
    """
    from blockcheck.answers.workshop.pieces import wires as wire_list

    return wire_list(_loaded(study))


def panel(study: types.Study, pitch: str = "25 mm", columns: int = 10, group: str | None = None) -> types.PanelAnswer:
    """The isolators as they stand on the control panel; places in millimetres from its lower left corner.

    ``pitch`` lies between two holes of a row, written as a length in a layout is: ``"25 mm"``, ``"1 in"``; ``columns``
    of them are in a row at most. ``group`` leaves only the isolators of one group. Raises CallError for numbers out of
    range, an unknown group, and a layout without isolators.
    """
    from blockcheck.answers.workshop.panel import panel as control_panel

    return control_panel(_loaded(study), pitch, columns, group)


def book(
    study: types.Study,
    today: date | None = None,
    *,
    with_: Collection[str] | None = None,
    without: Collection[str] = (),
    readings: str | PathLike[str] | None = None,
    data: str | bytes | None = None,
    dated: str = "",
    revision: str = "",
) -> types.BookAnswer:
    """The whole record of a layout: every answer about it, and the files that they rest on.

    ``with_`` names the parts that it has (all where it is left out), ``without`` those that it has not: drawing,
    channels, wires, labels, panel, budget, power, wake, bench, findings, description. ``readings`` is a filled test
    sheet, ``data`` its content where that comes from elsewhere: what was read stands in the test sheet. ``dated`` and
    ``revision`` are printed on the cover. ``today`` is as for ``check``. Raises InputError where the layout names a
    rule that does not exist, and for every fault of the readings; CallError for an unknown part, and for what is no
    layout that was loaded.
    """
    from blockcheck.answers.workshop.book import book as gather
    from blockcheck.answers.workshop.book import parts_of

    read = None if readings is None else _read(readings, data, _SHEET)
    return gather(_loaded(study), today or date.today(), parts_of(with_, without), read, dated, revision)


def bench(
    study: types.Study,
    *,
    at_hand: Collection[str] = ("beeper", "axle"),
    only: str | None = None,
    since: types.Study | None = None,
    each: bool = False,
    every: bool = False,
    times: int = 1,
    tolerance: str | None = None,
    progress: _Progress | None = None,
) -> types.BenchAnswer:
    """The test sheet: what to measure once it is wired, and what to read; in ohms, volts and names of channels.

    ``at_hand`` says with what: beeper, axle, meter, supply. The sheet sees every fault that these can see; with
    ``each`` it tells each from every other. ``only`` leaves the tests of one group, ``since`` those of what differs
    from an older layout; ``every`` has all tests and not the fewest, ``times`` (1 to 5) sees or tells each fault so
    many times. ``tolerance`` is written as ``5 % + 2 mohm + 0.3 V``. ``progress`` is told what is being done, how far
    it is and how far it goes; it may end the work with OutOfTimeError: the answer then tells what is left out. Raises
    CallError for an instrument, a group, a number or a tolerance that is none.
    """
    from blockcheck.analysis.bench.tolerance import tolerance_of
    from blockcheck.answers.workshop.bench import bench as sheet

    if not 1 <= times <= 5:
        raise CallError(f"times cannot be {times}", "write a number from 1 to 5")
    within, old = tolerance_of(tolerance), None if since is None else _loaded(since)
    return sheet(
        _loaded(study),
        within,
        at_hand=at_hand,
        only=only,
        since=old,
        each=each,
        every=every,
        times=times,
        progress=progress,
    )


def trace(
    study: types.Study,
    readings: str | PathLike[str],
    *,
    data: str | bytes | None = None,
    since: str | PathLike[str] | None = None,
    since_data: str | bytes | None = None,
    pairs: int | None = None,
    tolerance: str | None = None,
    progress: _Progress | None = None,
) -> types.TraceAnswer:
    """Which faults explain the readings in a filled test sheet (TOML, CSV or a workbook), the likeliest first.

    ``readings`` is the file, ``data`` its content where that comes from elsewhere; ``since`` and ``since_data`` are an
    earlier one, and what has changed since is told. ``pairs`` is how many pairs of faults are looked at where no single
    one explains everything; ``tolerance`` and ``progress`` are as for ``bench``.
    Raises InputError with every fault of the file, each at its line, and CallError where it cannot be opened.
    """
    from blockcheck.analysis.bench.tolerance import tolerance_of
    from blockcheck.answers.workshop.explained import trace as explain_readings
    from blockcheck.answers.workshop.trace import MOST_PAIRS

    within, most = tolerance_of(tolerance), MOST_PAIRS if pairs is None else pairs
    content, name = _read(readings, data, _SHEET)
    old = None if since is None else _read(since, since_data, "name the readings of an earlier day")
    return explain_readings(_loaded(study), content, name, within, most_pairs=most, since=old, progress=progress)


def where(study: types.Study, label: str) -> types.WhereAnswer:
    """Where a label leads: both ends of its wire, what is beside it, its blocks, the way of the current, the next test.

    ``label`` is one whole, a terminal (``I3:in``), a channel (``D1.3``, or the number that it reports as) or the name
    of a part of the layout. Lengths in metres. Raises CallError, with the nearest names, for what is none of these.
    """
    from blockcheck.answers.workshop.leads import where as leads

    return leads(_loaded(study), label)


def page(
    study: types.Study,
    today: date | None = None,
    *,
    at_hand: Collection[str] = ("beeper", "axle"),
    sheet: bool = True,
    progress: _Progress | None = None,
) -> types.PageAnswer:
    """The page in hand: one file for a phone under the layout, which says for any open switches what ``isolate`` says.

    It holds minimal ways of current, draws, the test sheet with what each fault changes in it, and findings, in SI
    units. Sooner without its ``sheet``; ``today`` as for ``check``, ``at_hand`` and ``progress`` as for ``bench``.
    Raises InputError for a rule that does not exist, CallError for an instrument that is none and what is no layout.
    """
    from blockcheck.answers.page.page import page as page_in_hand

    return page_in_hand(_loaded(study), today or date.today(), at_hand=at_hand, sheet=sheet, progress=progress)


def isolate(study: types.Study, tracks: str, scenario: str | None = None) -> types.IsolateAnswer:
    """What happens if these tracks are isolated, as usual or in a scenario: every block, train and district.

    ``tracks`` are as on the command line: ``3-7``, ``lower:3-7``, ``S3,I4``; ``S3,route=5`` isolates S3 where the
    control named route stands at 5. In volts and amperes. Raises CallError.
    """
    from blockcheck.answers.isolate import isolate as isolate_tracks

    return isolate_tracks(_loaded(study), tracks, scenario)


def isolate_each(study: types.Study, scenario: str | None = None) -> types.EachAnswer:
    """What happens if each isolator is opened alone, as usual or in a scenario: what it takes off, and what that frees.

    In volts and amperes. Raises CallError for a scenario that the layout does not have.
    """
    from blockcheck.answers.each import isolate_each as every_isolator

    return every_isolator(_loaded(study), scenario)


def isolate_state(study: types.Study, scenario: str | None = None, opened: str | None = None) -> types.StateAnswer:
    """How everything stands, as usual or in a scenario: every switch, block, train and district.

    With a selection open, or controls set in it (``route=5``), on top of that. In volts and amperes. Raises CallError
    for names that the layout does not have.
    """
    from blockcheck.answers.standing import standing as as_it_stands

    return as_it_stands(_loaded(study), scenario, opened)


def draw(
    study: types.Study,
    scenario: str | None = None,
    opened: str | None = None,
    today: date | None = None,
    show: str | None = None,
) -> types.Drawing:
    """The layout as a drawing, in millimetres: as usual or in a scenario, with the isolators of a selection open.

    ``opened`` is written as the tracks of ``isolate``; ``today`` is as for ``check``; ``show`` is what the track shows,
    of districts, trains and drops, or none. Raises CallError for names that the layout does not have.
    """
    from blockcheck.answers.draw import drawing

    return drawing(_loaded(study), scenario, opened, today, show)


def compare(old: types.Study, new: types.Study, today: date | None = None) -> types.CompareAnswer:
    """What a change does, and what it takes at the bench: wires, labels, tests; findings and budgets before and after.

    Lengths in metres, values in the unit that they name. ``today`` is as for ``check``. Raises InputError where a
    layout names a rule that does not exist, and CallError for what is no layout that was loaded.
    """
    from blockcheck.answers.difference.compare import compare as compare_studies

    return compare_studies(_loaded(old), _loaded(new), today or date.today())


@overload
def explain(name: None = None, *, every: bool = False) -> types.Reference: ...
@overload
def explain(name: str, *, every: bool = False) -> types.RuleAnswer | types.KeyAnswer | types.WordAnswer: ...
def explain(
    name: str | None = None, *, every: bool = False
) -> types.Reference | types.RuleAnswer | types.KeyAnswer | types.WordAnswer:
    """What a rule holds, why and how to mend it; what a key, or a word of the trade, means; without a name, all rules.

    ``name`` is a rule, a table or key such as ``blocks.length``, or a word such as ``near``. ``every`` has all rules
    print at length, and not as a list. Raises CallError for a name that is none of these, and for one with ``every``.
    """
    from blockcheck.answers.explain import asked

    return asked(name, every)


def new(
    file: str = "layout.toml",
    *,
    tracks: int | None = None,
    table: str | PathLike[str] | None = None,
    data: str | bytes | None = None,
    ends: int | None = None,
    boards: Sequence[int] | None = None,
    units: str | None = None,
    length: str | None = None,
    isolators: bool | None = None,
    name: str | None = None,
    kind: str | None = None,
) -> types.NewLayout:
    """A correct layout to start from, with comments: a short one, a whole yard, or the blocks of a spreadsheet.

    ``file`` is its name in the comments. A yard has 1 to 40 ``tracks`` for storage between ladders at 1 or 2 ``ends``
    (left out: 1), on ``boards`` with so many channels each (as many of eight as it needs). Each track has a ``length``,
    written as in a layout, and a switch unless ``isolators`` is False; a yard of the ``kind`` dc (left out: dcc) has no
    boards, and a switch for each block that chooses between two cabs. ``table`` is a spreadsheet, CSV or xlsx, and
    ``data`` its content where that comes from elsewhere. ``units`` are metric or imperial. Raises CallError for what no
    such layout can be, and InputError with every fault of a spreadsheet, each at its row.
    """
    from blockcheck.answers.start.new import new as new_layout

    said = {"ends": ends, "boards": None if boards is None else tuple(boards), "units": units}
    said |= {"length": length, "isolators": isolators, "name": name, "kind": kind}
    sheet = None if table is None else _read(table, data, "name a spreadsheet of blocks, saved as CSV or xlsx")
    return new_layout(file, tracks, sheet, said)


def _bytes(data: str | bytes | None) -> bytes | None:
    return data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data


def _read(file: str | PathLike[str], data: str | bytes | None, help_: str) -> tuple[bytes, str]:
    """What a file holds, or the data that stand for it; and its name as it is printed."""
    from blockcheck.text.includes import printed_name, read_named

    name, content = fspath(file), _bytes(data)
    return read_named(name, help_) if content is None else content, printed_name(name)


def _loaded(study: object) -> Study:
    """What ``load`` returned. Raises CallError for anything else, such as the name of a file."""
    if not isinstance(study, Study):
        message = f"a layout that was loaded is wanted, not a {type(study).__name__}"
        raise CallError(message, 'load it first: yard = blockcheck.load("yard.toml")')
    return study
