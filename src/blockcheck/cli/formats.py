"""Which formats each command has. Renderers are imported only when their command runs."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from attrs import frozen

from blockcheck.answers.document import Sheet
from blockcheck.cli.files import append_file
from blockcheck.cli.output import Renderers
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Severity
from blockcheck.core.shown import shown
from blockcheck.render import json_v1, text

if TYPE_CHECKING:
    from blockcheck.answers.bench import BenchAnswer
    from blockcheck.answers.book import BookAnswer
    from blockcheck.answers.budget import BudgetAnswer
    from blockcheck.answers.channels import ChannelMap
    from blockcheck.answers.check import CheckAnswer
    from blockcheck.answers.compare import CompareAnswer
    from blockcheck.answers.document import Document
    from blockcheck.answers.draw import Drawing
    from blockcheck.answers.isolate import IsolateAnswer
    from blockcheck.answers.panel import PanelAnswer
    from blockcheck.answers.power import PowerAnswer
    from blockcheck.answers.trace import TraceAnswer
    from blockcheck.answers.wires import WireList
    from blockcheck.render.paper import Size
    from blockcheck.render.style import Style


@frozen
class LabelOptions:
    """How labels are laid out, as the command line has it."""

    size: str = "38x12"
    gap: str = "2x0"
    margin: str | None = None
    paper: str | None = None
    start: int = 1
    sheet: int = 1
    outline: bool = True


def severity_named(name: str) -> Severity | None:
    """The severity at which a check fails; None for ``never``. Raises CallError for another word."""
    if name == "never":
        return None
    try:
        return Severity(name)
    except ValueError:
        raise CallError(f"--fail-on cannot be {shown(name)}", "write error, warning, note or never") from None


def _sheet(make: Callable[[], Sheet | Document]) -> Renderers:
    """The formats that follow from what a command says as tables."""

    def csv(style: Style) -> str:
        from blockcheck.render.table import csv_of

        return csv_of(make().programs()[:1], style)

    def markdown(_: Style) -> str:
        from blockcheck.render.table import document_markdown, markdown_of

        made = make()
        return markdown_of(made) if isinstance(made, Sheet) else document_markdown(made)

    def html(_: Style) -> str:
        from blockcheck.render.html import document_html, html_of

        made = make()
        return html_of(made) if isinstance(made, Sheet) else document_html(made)

    def xlsx(_: Style) -> bytes:
        from blockcheck.render.xlsx import xlsx_of

        sheet = make()
        return xlsx_of(f"{sheet.layout}: {sheet.title}", sheet.programs())

    return {"csv": csv, "markdown": markdown, "html": html, "xlsx": xlsx}


def check_formats(
    answer: CheckAnswer, files: Sequence[str], fail_on: Severity | None, draw: Callable[[], Sequence[Drawing]]
) -> Renderers:
    """The formats of ``check``. ``files`` are the layouts' first files; ``fail_on`` is what fails; ``draw`` draws the
    layouts for a page, where they could be understood."""

    def sheet() -> Sheet:
        from blockcheck.render.check import check_sheet

        return check_sheet(answer)

    def markdown(_: Style) -> str:
        from blockcheck.render.check import check_markdown

        return check_markdown(answer)

    def html(_: Style) -> str:
        from blockcheck.render.check import check_html

        return check_html(answer, draw() if answer.understood else ())

    def sarif(_: Style) -> str:
        from importlib.metadata import version

        from blockcheck.cli.repository import in_repository
        from blockcheck.render.sarif import check_sarif
        from blockcheck.text.includes import printed_name

        return check_sarif(answer, version("blockcheck"), printed_name(files[0]), in_repository(files))

    def junit(_: Style) -> str:
        from blockcheck.render.junit import check_junit

        return check_junit(answer, fail_on)

    def github(_: Style) -> str:
        from blockcheck.cli.repository import in_repository
        from blockcheck.render.github import check_github

        return check_github(answer, in_repository(files))

    return {
        "text": lambda style: text.check_text(answer, style),
        "json": lambda _: json_v1.check_json(answer),
        **_sheet(sheet),
        "markdown": markdown,
        "html": html,
        "sarif": sarif,
        "junit": junit,
        "github": github,
    }


def job_summary(answer: CheckAnswer) -> None:
    """Append a check to the summary of the job that GitHub Actions runs, where it does. Raises CallError."""
    path = os.environ.get("GITHUB_STEP_SUMMARY")
    if path:
        from blockcheck.render.github import MOST_SUMMARY, summary_markdown

        append_file(Path(path), lambda size: summary_markdown(answer, MOST_SUMMARY - size))


class Answer(Protocol):
    """What can be said as a document."""

    def document(self) -> Document:
        """What it says, for every format."""
        ...


def formats_of(answer: Answer) -> Renderers:
    """The formats that follow from what an answer holds and says."""

    return {
        "text": lambda style: text.document_text(answer.document(), style),
        "json": lambda _: json_v1.answer_json(answer),
        **_sheet(answer.document),
    }


wake_formats = formats_of
"""The formats of ``wake``."""


def channels_formats(answer: ChannelMap) -> Renderers:
    """The formats of ``channels``."""

    def toml(_: Style) -> str:
        from blockcheck.render.toml import answer_toml

        return answer_toml(answer)

    return {**formats_of(answer), "toml": toml}


def isolate_formats(answer: IsolateAnswer, draw: Callable[[], Drawing]) -> Renderers:
    """The formats of ``isolate``; ``draw`` draws the layout so isolated, for a page."""
    from blockcheck.render import isolate

    def html(_: Style) -> str:
        from blockcheck.render.figure import drawing_part
        from blockcheck.render.html import html_of

        return html_of(isolate.isolate_sheet(answer), last=[drawing_part(draw())])

    return {
        "text": lambda style: isolate.isolate_text(answer, style),
        "json": lambda _: json_v1.isolate_json(answer),
        **_sheet(lambda: isolate.isolate_sheet(answer)),
        "html": html,
    }


def power_formats(answer: PowerAnswer, netlist: Callable[[], str]) -> Renderers:
    """The formats of ``power``; ``netlist`` makes the deck for ngspice."""
    from blockcheck.render import power

    return {
        "text": lambda style: power.power_text(answer, style),
        "json": lambda _: power.power_json(answer),
        **_sheet(lambda: power.power_sheet(answer)),
        "netlist": lambda _: netlist(),
    }


def budget_formats(answer: BudgetAnswer) -> Renderers:
    """The formats of ``budget``."""
    from blockcheck.render import budget

    return {
        "text": lambda style: budget.budget_text(answer, style),
        "json": lambda _: budget.budget_json(answer),
        **_sheet(lambda: budget.budget_sheet(answer)),
    }


def wires_formats(answer: WireList, only: str | None, labels: LabelOptions) -> Renderers:
    """The formats of ``wires``. Raises CallError where ``only`` is no part of the list."""
    from blockcheck.render import labels as sheets
    from blockcheck.render import wires

    part = wires.part_named(only)

    def html(_: Style) -> str:
        from blockcheck.render.html import html_of

        return html_of(wires.wires_sheet(answer, part, boxes=True))

    def sheet() -> sheets.Sheet:
        from blockcheck.render.paper import paper_of

        paper = paper_of(labels.paper, answer.imperial)
        return sheets.sheet_of(paper, labels.size, labels.gap, labels.margin, labels.start, labels.outline)

    if labels is not None and labels != LabelOptions():  # completion asks for names alone, and gives no options
        sheet()  # a size that is none is told whatever the format
    return {
        "text": lambda style: wires.wires_text(answer, style, part),
        "json": lambda _: wires.wires_json(answer),
        **_sheet(lambda: wires.wires_sheet(answer, part)),
        "html": html,
        "labels-html": lambda _: sheets.labels_html(answer, sheet()),
        "labels-svg": lambda _: sheets.labels_svg(answer, sheet(), labels.sheet),
        "labels-csv": lambda style: sheets.labels_csv(answer, style),
    }


def millimetres(text: str, option: str) -> float:
    """A length of the command line such as ``25 mm``, in millimetres. Raises CallError that names the option."""
    from blockcheck.model.quantities import DIMENSIONS, Metres, QuantityError, parse

    if text.strip().replace(".", "", 1).isdecimal():
        raise CallError(f"{option} cannot be {shown(text)}", f'write it with its unit: "{text.strip()} mm"')
    try:
        return round(parse(text, DIMENSIONS[Metres]) * 1000, 6)
    except QuantityError as error:
        raise CallError(f"{option} cannot be {shown(text)}: {error.message}", error.help) from None


def panel_options(answer: PanelAnswer, paper: str | None, hole: str | None) -> tuple[Size, float | None]:
    """The paper, and the diameter of the holes in millimetres. Raises CallError for one that is none."""
    from blockcheck.render.paper import paper_of

    hole_mm = None if hole is None else millimetres(hole, "--hole")
    if hole_mm is not None and not 0.5 <= hole_mm < answer.pitch_mm:
        raise CallError(f"--hole cannot be {shown(str(hole))}", "write a diameter from 0.5 mm, less than the pitch")
    return paper_of(paper, answer.imperial), hole_mm


def panel_formats(answer: PanelAnswer, paper: Size, hole_mm: float | None) -> Renderers:
    """The formats of ``panel``."""
    from blockcheck.render import panel

    return {
        "svg": lambda _: panel.panel_svg(answer, hole_mm),
        **formats_of(answer),
        "html": lambda _: panel.panel_html(answer, paper, hole_mm),
    }


def book_formats(answer: BookAnswer) -> Renderers:
    """The formats of ``book``."""
    from blockcheck.render import book

    return {"html": lambda _: book.book_html(answer), "xlsx": lambda _: book.book_xlsx(answer)}


def draw_formats(answer: Drawing) -> Renderers:
    """The formats of ``draw``."""
    from blockcheck.render import drawing, svg

    return {
        "svg": lambda _: svg.drawing_svg(answer),
        "json": lambda _: drawing.drawing_json(answer),
    }


def compare_formats(answer: CompareAnswer) -> Renderers:
    """The formats of ``compare``."""
    from blockcheck.render import compare

    return {
        "text": lambda style: compare.compare_text(answer, style),
        "json": lambda _: compare.compare_json(answer),
        "csv": lambda style: compare.compare_csv(answer, style),
        "markdown": lambda _: compare.compare_markdown(answer),
        "html": lambda _: compare.compare_html(answer),
        "xlsx": lambda _: compare.compare_xlsx(answer),
    }


def bench_formats(answer: BenchAnswer) -> Renderers:
    """The formats of ``bench``."""
    from blockcheck.render import bench

    return {
        "text": lambda style: bench.bench_text(answer, style),
        "json": lambda _: bench.bench_json(answer),
        **_sheet(lambda: bench.bench_sheet(answer)),
        "html": lambda _: bench.bench_html(answer),
        "toml": lambda _: bench.bench_toml(answer),
    }


def trace_formats(answer: TraceAnswer) -> Renderers:
    """The formats of ``trace``."""
    from blockcheck.render import trace

    return {
        "text": lambda style: trace.trace_text(answer, style),
        "json": lambda _: trace.trace_json(answer),
        "markdown": lambda _: trace.trace_markdown(answer),
        "html": lambda _: trace.trace_html(answer),
    }


def explain_formats(name: str | None, every: bool) -> Renderers:
    """The formats of ``explain``; ``every`` asks for all rules at length.

    Raises CallError for a name that is neither a rule nor a key.
    """
    from blockcheck.answers.explain import KeyAnswer, explain, explain_all, tables
    from blockcheck.render import reference

    if name is not None and every:
        raise CallError("--all explains all rules, and takes no name", f"leave out --all, or {shown(name)}")
    answer = explain(name) if name is not None else None
    if isinstance(answer, KeyAnswer):
        key = answer
        return {
            "text": lambda style: reference.key_text(key, style),
            "json": lambda _: json_v1.key_json(key),
            "markdown": lambda _: reference.key_markdown(key),
            "html": lambda _: reference.key_html(key),
        }
    rules = (answer,) if answer is not None else explain_all(examples=True)
    at_length = answer is not None or every
    return {
        "text": lambda style: (
            reference.rules_text(rules, style) if at_length else reference.list_text(rules, tables(), style)
        ),
        "json": lambda _: json_v1.rules_json(rules),
        "markdown": lambda _: reference.rules_markdown(rules),
        "html": lambda _: reference.rules_html(rules),
    }


def new_formats(file: str) -> Renderers:
    """The formats of ``new``."""
    from blockcheck.answers.new import new

    return {"text": lambda _: new(file), "json": lambda _: json_v1.dumps({"text": new(file)})}
