"""Which formats the answer of each command has. A renderer is imported when its format is made, and not before."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import TYPE_CHECKING, Any, Literal, TypedDict, Unpack, overload

from attrs import evolve

from blockcheck.answers.answer import Answer, Made
from blockcheck.answers.document import Document
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Severity
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.formats.csv_table import dialect_named
from blockcheck.formats.programs import json_v1
from blockcheck.formats.style import Style

if TYPE_CHECKING:
    from blockcheck.answers.channels import ChannelMap
    from blockcheck.answers.checking.check import CheckAnswer
    from blockcheck.answers.draw import Drawing
    from blockcheck.answers.explain import KeyAnswer, Reference, RuleAnswer
    from blockcheck.answers.explaining.words import WordAnswer
    from blockcheck.answers.page.page import PageAnswer
    from blockcheck.answers.power import PowerAnswer
    from blockcheck.answers.start.new import NewLayout
    from blockcheck.answers.workshop.bench import BenchAnswer
    from blockcheck.answers.workshop.book import BookAnswer
    from blockcheck.answers.workshop.panel import PanelAnswer
    from blockcheck.answers.workshop.trace import TraceAnswer
    from blockcheck.answers.workshop.wires import WireList
    from blockcheck.formats.paper import Size

TextFormat = Literal[
    "text",
    "json",
    "csv",
    "markdown",
    "html",
    "toml",
    "svg",
    "sarif",
    "junit",
    "github",
    "netlist",
    "labels-html",
    "labels-svg",
    "labels-csv",
]
Renderers = Mapping[str, Callable[[Style], str | bytes]]
"""Format -> what makes it; text, or bytes where the format is a binary one."""


class Options(TypedDict, total=False):
    """What ``render`` takes beside the format; each answer has some of it."""

    width: int
    """Characters in a line of text; 100 where it is left out."""
    colour: bool
    """Whether text is in the colours of a terminal."""
    csv_dialect: str
    """How CSV is written: ``comma``, ``semicolon`` (with decimal commas) or ``tab``."""
    fail_on: Severity | None
    """``check`` as JUnit: from which severity on a finding is a failure; None for none."""
    path_of: Callable[[str], str]
    """``check`` as SARIF or for GitHub: makes of a file's name its path from the top of the repository."""
    paper: str
    """Pages and labels: ``A4``, ``A3``, ``Letter``, ``Legal``, or a size in millimetres such as ``210x297``."""
    hole: str
    """``panel``: the diameter of the holes, such as ``6 mm``, to draw them too."""
    only: str
    """``wires``: one part of the list, ``pieces``, ``totals`` or ``strips``."""
    label_size: str
    """Labels: width and height, such as ``38x12`` (mm) or ``1.5x0.5in``."""
    gap: str
    """Labels: what is free between them, such as ``2x0`` (mm)."""
    margin: str
    """Labels: what is free left of and above the first, such as ``8x12`` (mm); left out: centred."""
    start: int
    """Labels: the place of the first one on its sheet, counted from 1 along the rows."""
    sheet: int
    """``labels-svg``: which sheet, from 1."""
    outline: bool
    """Labels: whether their edges are drawn."""


@overload
def render(answer: Answer, format: Literal["xlsx"], **options: Unpack[Options]) -> bytes: ...
@overload
def render(answer: Answer, format: TextFormat = "text", **options: Unpack[Options]) -> str: ...
@overload
def render(answer: Answer, format: str, **options: Unpack[Options]) -> str | bytes: ...
def render(answer: Answer, format: str = "text", **options: Any) -> str | bytes:  # noqa: A002 - the command's word
    """An answer in a format: all that the command has, ``answer.formats`` names them.

    Text, or bytes for ``xlsx``. ``options`` are those of the command, under the same names: ``width`` (characters),
    ``colour`` and ``csv_dialect`` for all; ``fail_on`` (a Severity) and ``path_of`` for ``check``; ``only``, ``paper``,
    ``label_size``, ``gap``, ``margin``, ``start``, ``sheet`` and ``outline`` for ``wires``; ``hole`` for
    ``panel``, and ``paper`` for pages. Sizes are written as on the command line, ``"38x12"`` in millimetres, lengths
    with their unit.
    Raises CallError for a format or an option that the answer does not have.
    """
    if not isinstance(answer, Answer):
        raise CallError(f"render takes an answer, not a {type(answer).__name__}", "give it what a command answered")
    style: dict[str, Any] = {name: options.pop(name) for name in ("width", "colour", "csv_dialect") if name in options}
    if "paper" in options and "paper" not in (_FORMATS[answer.command].__kwdefaults__ or {}):
        style["paper"] = options.pop("paper")
    dialect_named(style.get("csv_dialect", "comma"))
    return renderer_named(formats_of(answer, **options), format)(Style(**style))


def plain_formats(answer: Answer) -> Made:
    """The formats of an answer, without any options."""
    return {name: partial(make, Style()) for name, make in formats_of(answer).items()}


def formats_of(answer: Answer, **options: Any) -> Renderers:
    """The formats of an answer; ``options`` are those that its command has for them.

    Raises CallError for an option that it does not have, or that is none whatever the format.
    """
    formats = _FORMATS[answer.command]
    for name in options:
        if name not in (known := formats.__kwdefaults__ or {}):
            has = f"it takes {', '.join(known)}" if known else "it takes none"
            raise CallError(f"{answer.command} takes no option {shown(name)}", did_you_mean(name, known) or has)
    made: Renderers = formats(answer, **options)
    return made


def format_names(command: str) -> tuple[str, ...]:
    """The formats of a command, without an answer of it; none for a command that there is none of."""
    return tuple(_FORMATS[command](None)) if command in _FORMATS else ()


def renderer_named(renderers: Renderers, name: str) -> Callable[[Style], str | bytes]:
    """What makes a format. Raises CallError for a name that there is none of."""
    if name not in renderers:
        near = did_you_mean(name, renderers)
        has = f"it has {', '.join(renderers)}"
        raise CallError(f"this command has no format {shown(name)}", f"{near} {has}" if near else has)
    return renderers[name]


def _documented(answer: Any, asked: tuple[Any, ...] = (), holds: Callable[[], object] | None = None) -> Renderers:
    """The formats that follow from what an answer says (``document``, told ``asked``) and holds (``column``)."""

    def made() -> Document:
        document: Document = answer.document(*asked)
        return document

    def text(style: Style) -> str:
        from blockcheck.formats.text import document_text

        return document_text(made(), style)

    def csv(style: Style) -> str:
        from blockcheck.formats.csv_table import csv_of

        return csv_of(made().programs()[:1], style)

    def markdown(_: Style) -> str:
        from blockcheck.formats.markdown import document_markdown

        return document_markdown(made())

    def html(style: Style) -> str:
        from blockcheck.formats.html import document_html

        return document_html(made(), style.paper)

    def xlsx(_: Style) -> bytes:
        from blockcheck.formats.programs.xlsx import xlsx_of

        document = made()
        return xlsx_of(f"{document.layout}: {document.title}", document.programs(), document.about)

    return {
        "text": text,
        "json": lambda _: json_v1.answer_json(answer if holds is None else holds()),
        "csv": csv,
        "markdown": markdown,
        "html": html,
        "xlsx": xlsx,
    }


def _some(names: str, renderers: Renderers) -> Renderers:
    return {name: renderers[name] for name in names.split()}


def _check(
    answer: CheckAnswer, *, fail_on: Severity | None = Severity.ERROR, path_of: Callable[[str], str] = str
) -> Renderers:
    def report() -> object:
        from blockcheck.answers.checking.report import report_of

        return report_of(answer)

    def sarif(_: Style) -> str:
        from blockcheck.core.version import __version__
        from blockcheck.formats.programs.sarif import check_sarif
        from blockcheck.text.includes import printed_name

        return check_sarif(answer, __version__, printed_name(str(answer.files[0])), path_of)

    def junit(_: Style) -> str:
        from blockcheck.formats.programs.junit import check_junit

        return check_junit(answer, fail_on)

    def github(_: Style) -> str:
        from blockcheck.formats.programs.github import check_github

        return check_github(answer, path_of)

    return {**_documented(answer, holds=report), "sarif": sarif, "junit": junit, "github": github}


def _channels(answer: ChannelMap) -> Renderers:
    def toml(_: Style) -> str:
        from blockcheck.formats.programs.toml import answer_toml

        return answer_toml(answer)

    return {**_documented(answer), "toml": toml}


def _power(answer: PowerAnswer) -> Renderers:
    return {**_documented(answer), "netlist": lambda _: answer.netlist()}


def _wires(
    answer: WireList,
    *,
    only: str | None = None,
    label_size: str = "38x12",
    gap: str = "2x0",
    margin: str | None = None,
    start: int = 1,
    sheet: int = 1,
    outline: bool = True,
    paper: str | None = None,
) -> Renderers:
    from blockcheck.answers.workshop.wires import part_named
    from blockcheck.formats import labels

    part_named(only)

    def labelled() -> labels.LabelSheet:
        from blockcheck.formats.paper import paper_of

        size = paper_of(paper, answer.imperial)
        return labels.sheet_of(size, label_size, gap, margin, start, outline)

    if answer is not None:
        labelled()  # a size that is none is told whatever the format
    documented = _documented(answer, (only,))
    return {
        **documented,
        "html": lambda style: documented["html"](evolve(style, paper=paper)),
        "labels-html": lambda _: labels.labels_html(answer, labelled()),
        "labels-svg": lambda _: labels.labels_svg(answer, labelled(), sheet),
        "labels-csv": lambda style: labels.labels_csv(answer, style),
    }


def _panel(answer: PanelAnswer, *, paper: str | None = None, hole: str | None = None) -> Renderers:
    from blockcheck.formats import panel

    def sized() -> tuple[Size, float | None]:
        return panel.paper_and_hole(answer, paper, hole)

    if answer is not None:
        sized()  # what is none is told whatever the format
    return {
        "svg": lambda _: panel.panel_svg(answer, sized()[1]),
        **_documented(answer),
        "html": lambda _: panel.panel_html(answer, *sized()),
    }


def _book(answer: BookAnswer) -> Renderers:
    return _some("html xlsx", _documented(answer))


def _draw(answer: Drawing) -> Renderers:
    from blockcheck.formats import svg

    return {"svg": lambda _: svg.drawing_svg(answer), "json": lambda _: json_v1.answer_json(answer)}


def _bench(answer: BenchAnswer) -> Renderers:
    from blockcheck.formats import bench

    return {**_documented(answer), "toml": lambda _: bench.bench_toml(answer)}


def _trace(answer: TraceAnswer) -> Renderers:
    return _some("text json markdown html", _documented(answer))


def _page(answer: PageAnswer) -> Renderers:
    def html(_: Style) -> str:
        from blockcheck.formats.inhand.written import page_in_hand

        return page_in_hand(answer)

    return {"html": html, "json": lambda _: json_v1.answer_json(answer)}


def _explain(answer: Reference | RuleAnswer | KeyAnswer | WordAnswer) -> Renderers:
    def explained() -> object:
        from blockcheck.answers.explain import explained

        return explained(answer)

    return _some("text json markdown html", _documented(answer, holds=explained))


def _new(answer: NewLayout) -> Renderers:
    return {"text": lambda _: answer.text, "json": lambda _: json_v1.answer_json(answer)}


_FORMATS: Mapping[str, Callable[..., Renderers]] = {
    "check": _check,
    "channels": _channels,
    "isolate": _documented,
    "power": _power,
    "budget": _documented,
    "wake": _documented,
    "wires": _wires,
    "panel": _panel,
    "book": _book,
    "draw": _draw,
    "compare": _documented,
    "bench": _bench,
    "trace": _trace,
    "where": _documented,
    "page": _page,
    "explain": _explain,
    "new": _new,
}
"""Command -> the formats of its answer, by what they are told beside it."""
