"""The record of a layout that is handed over and filed: every answer, and the description that they rest on.

It is one page to print and to sign, each of its parts on a new sheet of paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from hashlib import sha256

from attrs import evolve, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.budget import BudgetAnswer, budget
from blockcheck.answers.channels import ChannelMap, channels
from blockcheck.answers.checking.check import CheckAnswer, accepted_table, check, kept_back_table, verdict
from blockcheck.answers.document import (
    CAUTION,
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
from blockcheck.core.words import listed, plural

_SIGNED = ("Wired by", "Checked with a meter by", "Handed over to")
_DIGEST = 16  # of 64 digits: enough to tell versions of one description apart
_BLANK_LINES = 8
_CONTROL = {"dcc": "digital (dcc)", "dc": "direct current, with cabs (dc)"}


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
    """One layout, whole. ``counts`` tells how many there are of each kind of thing."""

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
    files: tuple[BookFile, ...]

    def document(self) -> Document:
        """A title page with the verdict and the contents, and one part after the other; for programs every table."""
        answers = [one.document() for one in (self.channels, self.budget, self.power, self.wake)]
        return Document(
            "Wiring record",
            self.layout,
            (
                verdict(self.check),
                self._facts(),
                Contents("Contents"),
                Says((CAUTION,), "caution"),
                Figure(lambda: self.drawing),
                *map(_sheet, answers),
                _part("Findings", self._findings(), _count(self.check)),
                *self._left_out(),
                _part("The description", self._description(), "(what all of this rests on)"),
                _part("Handed over", _handed_over()),
            ),
            tuple(table for one in (*answers, self.check.document()) for table in one.programs()),
            sources={file.name: file.text for file in self.files if not file.stock},
        )

    def _facts(self) -> Facts:
        scale = [("scale", self.scale)] if self.scale is not None else []
        own = tuple(f"{one.name}  {one.digest[:_DIGEST]}" for one in self.files if not one.stock)
        counts = listed([plural(count, word) for word, count in self.counts])
        rows: list[tuple[str, str | tuple[str, ...]]] = [("consists of", counts), ("control", _CONTROL[self.control])]
        return Facts([*rows, *scale, ("described in", own)], grid=True)

    def _findings(self) -> Iterator[Part]:
        """What was found, what could not be checked, what was accepted: each is said even where there is nothing."""
        check = self.check
        yield Cards(check.findings)
        unchecked = unchecked_table(check.unchecked, "Not checked, for want of data")
        nothing = "No rule is off or ranked down, and no limit is laxer than its default."
        for told, without in (
            (check.findings, "Nothing was found."),
            (unchecked, "Every check was made: no datum was missing."),
            (accepted_table(check), "No finding was accepted."),
            (kept_back_table(check), nothing),
        ):
            rows = told.rows if isinstance(told, Table) else told
            if not rows:
                yield Says((without,))
            elif isinstance(told, Table):
                yield told

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


def _sheet(document: Document) -> Section:
    """The cautions come first: at the end they might stand on a sheet of paper of their own."""
    kept = (one for one in document.parts if not (isinstance(one, Table) and one.title == LEFT_OUT))
    return _part(document.title, sorted(kept, key=lambda one: not (isinstance(one, Says) and one.kind == "caution")))


def _count(check: CheckAnswer) -> str:
    told = [plural(len(check.findings), "finding") if check.findings else "none"]
    told += [f"{len(check.unchecked)} not checked"] if check.unchecked else []
    told += [f"{len(check.accepted)} accepted"] if check.accepted else []
    return f"({', '.join(told)})"


def _handed_over() -> Iterator[Part]:
    """Lines to write on: who stands for it, and what was changed since."""
    lead = (
        "This book tells what was meant and what follows from it. Whether it was wired so, a meter tells. "
        "What is changed later is changed in the description first, and the book is made anew."
    )
    yield Says((lead,), "plain")
    yield Form("", ("", "name", "date", "signature"), tuple((word, "", "", "") for word in _SIGNED))
    headers = "date", "what was changed, and where", "by"
    yield Form("Changed since, and not yet in the description", headers, (("", "", ""),) * _BLANK_LINES)


def book(study: Study, today: date) -> BookAnswer:
    """Gather everything about a study. Raises InputError where the layout names a rule that does not exist."""
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
        files,
    )
