"""The record of a layout that is handed over and filed: every answer, and the description that they rest on."""

from __future__ import annotations

from datetime import date
from hashlib import sha256

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.budget import BudgetAnswer, budget
from blockcheck.answers.channels import ChannelMap, channels
from blockcheck.answers.check import CheckAnswer, check
from blockcheck.answers.draw import Drawing, drawing
from blockcheck.answers.power import PowerAnswer, power
from blockcheck.answers.wake import WakeAnswer, waking


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
