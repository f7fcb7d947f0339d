"""What the tool has to say: findings, and whatever kept it from having more."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from enum import Enum
from typing import NamedTuple

from attrs import astuple, evolve, field, frozen

from blockcheck.core.columns import column
from blockcheck.core.natural import condensed, natural_key
from blockcheck.core.shown import on_one_line
from blockcheck.core.spans import Path, Place
from blockcheck.core.words import listed


class Severity(Enum):
    """How bad a finding is. Ordered: an error outranks a warning outranks a note."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return _RANK[self]


_RANK = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


class Label(NamedTuple):
    """A further place that belongs to a finding, with a few words on why."""

    at: Path | Place
    message: str


@frozen
class Claim:
    """What a finding is about, so that no other finding is about it too. Each kind is a class that names its parts."""

    @property
    def names(self) -> Iterator[str]:
        """The names of the parts."""
        for value in astuple(self, recurse=False):
            yield from value if isinstance(value, tuple) else (value,) if value is not None else ()


class Rewrite(NamedTuple):
    """What a mend does to the layout: ``to``, as TOML has it, is written at a path, or the path is taken out (None).

    A path of one step, to an array of tables, adds a table, whose lines ``to`` holds. ``key`` writes the key otherwise.
    """

    path: Path
    to: str | None
    key: bool = False


class Edit(NamedTuple):
    """A change of a file's text: ``text`` in place of what stands at ``at``; put in where that has no length."""

    at: Place
    text: str


@frozen
class Finding:
    """One thing that is wrong, at one place.

    A rule yields it with a path (``at``) and without ``rule`` and ``severity``; the engine stamps those, and the
    report turns paths into places, once. ``others`` is printed as ``with``. ``causes`` names the parts at fault, so
    that later rules judge the circuit as if they were mended, and what is claimed: one cause gives one finding.
    Findings of one rule and one ``group`` have one cause, and the engine makes one of them: that of the least
    ``margin``, with the subjects of the others, unless they are accepted, as ``alike``; they print with ``others``, and
    its message names them behind ``also``.
    ``state`` maps a control to its position, ``way`` is the path of the current, by names; ``hops`` gives those of them
    that stand somewhere their places. ``known`` says whether an earlier answer had it, where one was compared with.
    ``edits`` mend it, all of them together, where the mend is sure; a rule tells them by paths.
    ``own`` is how bad this one is, where that is not what its rule says; what the layout says of the rule outranks it.
    """

    message: str
    subject: str
    at: Path | Place
    others: tuple[str, ...] = ()
    related: tuple[Label, ...] = ()
    help: str | None = None
    edits: tuple[Edit | Rewrite, ...] = field(default=(), eq=False)
    measured: float | None = None
    limit: float | None = None
    unit: str | None = None
    state: Mapping[str, str] | None = None
    way: tuple[str, ...] | None = None
    causes: frozenset[Path | Claim] = field(default=frozenset(), eq=False)
    alike: tuple[str, ...] = ()
    group: object = field(default=None, eq=False)
    margin: float = field(default=0.0, eq=False)
    also: str = field(default="so it is in", eq=False)
    own: Severity | None = field(default=None, eq=False)
    rule: str = "input"
    severity: Severity = Severity.ERROR
    hops: tuple[Label, ...] = field(default=(), eq=False)
    known: bool | None = None

    def __str__(self) -> str:
        """Where it is, how bad, what and by which rule; on a second line how to mend it."""
        rule = "" if self.rule == "input" else f" ({self.rule})"
        mend = f"\n    mend: {on_one_line(self.help)}" if self.help else ""
        return on_one_line(f"{self.where}: {self.severity.value}: {self.message}{rule}") + mend

    @property
    def where(self) -> str:
        """File, line and column; a path where it is not located yet."""
        at = self.at
        return f"{at.file}:{at.line}:{at.column}" if isinstance(at, Place) else ".".join(map(str, at))

    @property
    def fingerprint(self) -> str:
        """Rule and names, never the line, so that it survives edits elsewhere."""
        return ":".join((self.rule, self.subject, *self.others))


def likewise(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Findings as people read them: those that differ by their subject alone are the first of them, with a range.

    Programs have each by itself, so that each can be accepted, known and counted.
    """
    groups: dict[object, list[Finding]] = {}
    for finding in findings:
        groups.setdefault(_pattern(finding), []).append(finding)
    for first, *more in groups.values():
        names = tuple(one.subject for one in more)
        told = f"{first.message}; likewise {listed(condensed(names), 6)}" if more else first.message
        yield evolve(first, alike=(*first.alike, *names), message=told)


def _pattern(finding: Finding) -> object:
    """What alike findings share. One that follows a current of its own is like no other, nor is one that stands for
    several already."""
    if finding.rule == "input" or finding.way or finding.alike:
        return id(finding)
    name = re.compile(rf"(?<![\w.-]){re.escape(finding.subject)}(?![\w-])")
    words = (finding.message, finding.help or "", *finding.others)
    state = tuple(sorted((finding.state or {}).items()))
    return (
        finding.rule,
        finding.severity,
        finding.known,
        finding.measured,
        finding.limit,
        state,
        *(name.sub("\0", one) for one in words),
    )


UNDECIDED = ("a decision within bounds",)
"""What a question needs that is too large to be decided."""


@frozen
class Unchecked:
    """A rule that could not be applied to a subject, and the data that it lacks."""

    rule: str = column("Name of the rule.")
    subject: str = column("What it could not be applied to.", title="of", key="subject")
    needs: tuple[str, ...] = column("The data that it lacks.")

    @property
    def undecided(self) -> bool:
        """Whether it lacks no datum, and was too large to be decided."""
        return self.needs == UNDECIDED


@frozen
class Accepted:
    """A finding that the layout accepts, and why."""

    finding: Finding
    because: str


@frozen
class Off:
    """A rule that the layout switches off, and how many findings it would have had."""

    rule: str = column("Name of the rule.")
    findings: int = column("How many findings it would have had.", least=0)


@frozen
class Milder:
    """A rule that the layout ranks below what its findings would be, and how many findings that makes milder."""

    rule: str = column("Name of the rule.")
    severity: str = column("What the layout makes of its findings.", choices=("warning", "note"))
    default: str = column("What the worst of them would be.", choices=("error", "warning"))
    findings: int = column("How many findings that makes milder.", least=0)


@frozen
class Laxer:
    """A key of the limits that forgives more than its default; both values as people write them."""

    limit: str = column("Its key in [limits].")
    value: str = column("Its value, as people write it.")
    default: str = column("What it would be without being written, likewise.")


def order(finding: Finding) -> tuple[object, ...]:
    """The one order of findings: worst first, then by rule and by names as people read them."""
    return (
        finding.severity.rank,
        finding.rule,
        natural_key(finding.subject),
        tuple(natural_key(name) for name in finding.others),
        finding.message,
    )
