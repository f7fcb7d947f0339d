"""The record of a layout that is handed over and filed: every answer, and the description that they rest on.

It is one page to print and to sign; of its parts those that are asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from hashlib import sha256
from typing import Any

from attrs import evolve, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.budget import BudgetAnswer, budget
from blockcheck.answers.channels import ChannelMap, channels
from blockcheck.answers.checking.check import CheckAnswer, accepted_table, check, kept_back_table, verdict
from blockcheck.answers.document import (
    CAUTION,
    Brief,
    Cards,
    Contents,
    Document,
    Facts,
    Figure,
    Form,
    Part,
    Quoted,
    Says,
    Section,
)
from blockcheck.answers.draw import Drawing, drawing
from blockcheck.answers.lacking import LEFT_OUT, taken, unchecked_table
from blockcheck.answers.power import PowerAnswer, power
from blockcheck.answers.tables import Table
from blockcheck.answers.wake import WakeAnswer, waking
from blockcheck.answers.workshop.bench import LIVE, BenchAnswer, bench
from blockcheck.answers.workshop.panel import LOW_VOLTAGE, PanelAnswer, panel
from blockcheck.answers.workshop.pieces import wires
from blockcheck.answers.workshop.ranges import Row, labelled
from blockcheck.answers.workshop.read_last import with_readings
from blockcheck.answers.workshop.wires import LABELS, WireList
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import listed, plural

PARTS = {
    "drawing": "the drawing",
    "channels": "the channel map",
    "wires": "wires and terminal plan",
    "labels": "the labels",
    "panel": "the control panels",
    "budget": "budgets",
    "power": "volts, shorts and detection",
    "wake": "waking in stages",
    "bench": "the test sheet, and what was read last",
    "findings": "findings",
    "description": "the description",
}
"""The parts of a book that can be asked for, and what they are."""
CHANGED = "Changed since, and not yet in the description"
_MEANT = (
    "This book tells what was meant and what follows from it. Whether it was wired so, a meter tells. "
    "What is changed later is changed in the description first, and the book is made anew."
)
_SIGNED = ("Wired by", "Checked with a meter by", "Handed over to")
_DIGEST = 16  # of 64 digits: enough to tell versions of one description apart
_BLANK_LINES = 2
_CONTROL = {"dcc": "digital (dcc)", "dc": "direct current, with cabs (dc)"}
_ABREAST, _LEAST_A_CARD, _MOST_A_CARD = 3, 8, 24
"""Cards of labels that stand beside each other, and the rows of one."""


@frozen
class BookFile:
    """A file of the description as it was read. ``digest`` is its SHA-256, which tells one version from another.

    ``stock`` files ship with the package, and are not quoted.
    """

    name: str
    text: str
    digest: str
    stock: bool


@frozen
class BookAnswer(Answer):
    """One layout, whole. ``counts`` tells how many there are of each kind of thing; ``parts`` are those of ``PARTS``
    that it shows, ``date`` and ``revision`` what is printed on its cover where somebody asked for it."""

    command = "book"

    layout: str
    control: str
    scale: str | None
    counts: tuple[tuple[str, int], ...]
    drawing: Drawing
    check: CheckAnswer
    channels: ChannelMap
    budget: BudgetAnswer
    power: PowerAnswer
    wake: WakeAnswer
    wires: WireList
    panel: PanelAnswer | None
    bench: BenchAnswer
    files: tuple[BookFile, ...]
    parts: tuple[str, ...] = tuple(PARTS)
    date: str = ""
    revision: str = ""

    def document(self) -> Document:
        """A title page with the verdict and the contents, and one part after the other; for programs every table."""
        made: dict[str, Callable[[], Iterable[Part]]] = {
            "drawing": lambda: [Figure(lambda: self.drawing)],
            "channels": lambda: [_sheet(self.channels.document())],
            "wires": lambda: [_sheet(self._wires())],
            "labels": lambda: [_part("Labels", self._labels())],
            "panel": lambda: [_sheet(self.panel.document(), told=LOW_VOLTAGE)] if self.panel is not None else [],
            "budget": lambda: [_sheet(self.budget.document())],
            "power": lambda: [_sheet(self.power.document())],
            "wake": lambda: [_sheet(self.wake.document(), *self._switched_on("wake"))],
            "bench": lambda: [_sheet(self.bench.document(), *self._switched_on("bench"))],
            "findings": lambda: [_part("Findings", self._findings(), _count(self.check)), *self._left_out()],
            "description": lambda: [_part("The description", self._description(), "(what all of this rests on)")],
        }
        return Document(
            "Wiring record",
            self.layout,
            (
                verdict(self.check),
                self._facts(),
                Contents("Contents"),
                Says((CAUTION,), "caution"),
                Form("Handed over", ("", "name", "date", "signature"), tuple((word, "", "", "") for word in _SIGNED)),
                Form(CHANGED, ("date", "what was changed, and where", "by"), (("", "", ""),) * _BLANK_LINES),
                Says((_MEANT,), "plain"),
                *(part for name in PARTS if name in self.parts for part in made[name]()),
            ),
            tuple(self._tables()),
            sources={file.name: file.text for file in self.files if not file.stock},
        )

    def _wires(self) -> Document:
        """The wire list; what a label says stands in the part of the labels, where there is one."""
        document = self.wires.document()
        kept = (one for one in document.parts if not (isinstance(one, Says) and LABELS in one.texts))
        return evolve(document, parts=kept) if "labels" in self.parts else document

    def _tables(self) -> Iterator[Table]:
        """Every table of its parts, for programs."""
        answers: dict[str, Any] = {
            name: getattr(self, name) for name in ("channels", "budget", "power", "wake", "wires", "panel", "bench")
        }
        for name in PARTS:
            if name in self.parts and answers.get(name) is not None:
                yield from answers[name].document().programs()
        if "findings" in self.parts:
            yield from self.check.document().programs()

    def _switched_on(self, name: str) -> tuple[str, ...]:
        """The caution of the part in which power is first switched on; of others none."""
        first = next((one for one in ("bench", "wake") if one in self.parts), "")
        return (CAUTION,) if name == first else ()

    def _labels(self) -> Iterator[Part]:
        """How many labels of which texts, those that differ by number only in one row."""
        rows = [Row((end.label,)) for piece in self.wires.pieces for end in (piece.start, piece.end)]
        found = list(labelled(rows))
        told = f"{plural(len(rows), 'label')}, one for each end of each piece of wire: wires FILE --format labels-html."
        yield Says((told, LABELS), "plain")
        most = min(max(-(-len(found) // _ABREAST), _LEAST_A_CARD), _MOST_A_CARD)
        for start in range(0, len(found), most):
            some = found[start : start + most]
            yield Table("", ("of", "label"), [(one.count, one.texts[0]) for one in some], card=True)

    def _facts(self) -> Facts:
        scale = [("scale", self.scale)] if self.scale is not None else []
        made = [(word, told) for word, told in (("date", self.date), ("revision", self.revision)) if told]
        own = tuple(f"{one.name}  {one.digest[:_DIGEST]}" for one in self.files if not one.stock)
        counts = listed([plural(count, word) for word, count in self.counts])
        rows: list[tuple[str, str | tuple[str, ...]]] = [("consists of", counts), ("control", _CONTROL[self.control])]
        return Facts([*made, *rows, *scale, ("described in", own)], grid=True)

    def _findings(self) -> Iterator[Part]:
        """What was found, what could not be checked, what was accepted: each is said even where there is nothing."""
        check = self.check
        yield Cards(check.findings)
        unchecked = unchecked_table(check.unchecked, "Not checked, for want of data")
        nothing = "No rule is off or ranked down, and no limit is laxer than its default."
        each = (
            (check.findings, "Nothing was found."),
            (unchecked, "Every check was made: no datum was missing."),
            (accepted_table(check), "No finding was accepted."),
            (kept_back_table(check), nothing),
        )
        empty = [without for told, without in each if not (told.rows if isinstance(told, Table) else told)]
        yield Says((" ".join(empty),) if empty else (), "plain")
        yield from (told for told, _ in each if isinstance(told, Table) and told.rows)

    def _left_out(self) -> Iterator[Section]:
        left_out = taken([*self.budget.defaults, *self.power.defaults, *self.wake.defaults])
        if left_out.rows:
            lead = "Where the description is silent, this was taken. Write it down where it is otherwise."
            once = sorted(dict.fromkeys(left_out.rows), key=lambda row: str(row[0]))
            yield _part(LEFT_OUT, [Says((lead,)), evolve(left_out, title="", rows=once)])

    def _description(self) -> Iterator[Part]:
        """Every file with its lines numbered; of stock files the names."""
        yield Says(("Everything in this book follows from these files, as they were when it was made.",), "plain")
        for file in self.files:
            if not file.stock:
                yield Quoted(file.name, file.digest)
        rows = [(file.name, file.digest[:_DIGEST]) for file in self.files if file.stock]
        yield Table("Stock data that came with blockcheck", ("file", "SHA-256 begins"), rows)


def _part(title: str, parts: Iterable[Part], aside: str = "") -> Section:
    return Section(title, tuple(parts), aside=aside, sheet=True)


def _sheet(document: Document, *cautions: str, told: str = "") -> Section:
    """An answer as a part. What it warns of stands on the cover; ``cautions`` are those that stand here again, before
    power is on. ``told`` is said first."""
    kept = [
        one
        for one in (
            *(Says((one,)) for one in document.verdict),
            Says((told,) if told else (), "plain"),
            *document.parts,
        )
        if not _left_out(one) and not (isinstance(one, Says) and one.kind == "caution")
    ]
    live = next((i for i, one in enumerate(kept) if isinstance(one, Section) and one.title == LIVE), 0)
    return _part(document.title, [*kept[:live], *(Says((one,), "caution") for one in cautions), *kept[live:]])


def _left_out(part: Part) -> bool:
    """Whether it tells what was taken for granted: that has a part of its own."""
    if isinstance(part, Brief):
        return any(_left_out(one) for one in part.parts)
    return isinstance(part, Table) and part.title == LEFT_OUT


def _count(check: CheckAnswer) -> str:
    told = [plural(len(check.findings), "finding") if check.findings else "none"]
    told += [f"{len(check.unchecked)} not checked"] if check.unchecked else []
    told += [f"{len(check.accepted)} accepted"] if check.accepted else []
    return f"({', '.join(told)})"


def parts_of(with_: Iterable[str] | None = None, without: Iterable[str] = ()) -> tuple[str, ...]:
    """The parts that are asked for; all where nobody says. Raises CallError for one that there is none of."""
    for name in [*(with_ or ()), *without]:
        if name not in PARTS:
            raise CallError(
                f"a book has no part {shown(name)}", did_you_mean(name, PARTS) or f"it has {listed([*PARTS])}"
            )
    wanted = set(PARTS if with_ is None else with_) - {*without}
    return tuple(name for name in PARTS if name in wanted)


def book(
    study: Study,
    today: date,
    parts: tuple[str, ...] = tuple(PARTS),
    readings: tuple[bytes, str] | None = None,
    dated: str = "",
    revision: str = "",
) -> BookAnswer:
    """Gather everything about a study; ``readings`` is a filled test sheet and its name.

    Raises InputError where the layout names a rule that does not exist, and with every fault of the readings.
    """
    layout = study.layout
    counts = (
        ("block", len(layout.blocks)),
        ("isolator", len(layout.isolators)),
        ("detector board", len(layout.boards)),
        ("power district", len(layout.districts)),
        ("booster", len(layout.boosters)),
        ("turnout", len(layout.turnouts)),
        ("train", len(layout.trains)),
        ("scenario", len(layout.scenarios)),
    )
    files = tuple(
        BookFile(file.source.name, file.source.text, sha256(file.source.text.encode("utf-8")).hexdigest(), file.stock)
        for file in study.wiring.document.files
    )
    return BookAnswer(
        layout.about.name,
        layout.about.control,
        layout.about.scale,
        tuple((word, count) for word, count in counts if count),
        drawing(study, today=today),
        check(study, today),
        channels(study),
        budget(study),
        power(study),
        waking(study),
        wires(study),
        panel(study) if layout.isolators else None,
        bench(study) if readings is None else with_readings(study, bench(study), *readings),
        files,
        parts,
        dated,
        revision,
    )
