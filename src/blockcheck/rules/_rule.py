"""What a rule is, and the few words that rules share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date
from functools import cached_property
from importlib import import_module
from typing import NamedTuple

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.core import words
from blockcheck.core.docs import docstring
from blockcheck.core.findings import Finding, Rewrite, Severity
from blockcheck.core.spans import Path
from blockcheck.model.datum import feed_of
from blockcheck.model.layout import Board
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, show


class Lacks(NamedTuple):
    """What keeps a rule from judging a subject: the data that it lacks, as they are written."""

    subject: str
    needs: tuple[str, ...]


class Judged(NamedTuple):
    """A subject that a rule looks at: the rule holds of it unless a finding or a lack names it, too.

    None is the layout as one, of a rule whose findings are about what does not exist, or about pairs.
    """

    subject: str | None


Said = Iterator[Finding | Lacks | Judged]
"""What a rule has to say; the engine stamps its name and severity."""
Check = Callable[[Study], Said]


class Acceptance(NamedTuple):
    """One entry of ``[[accept]]`` after all rules have run: what it matched, and whether its date has passed.

    ``unknown`` are the names that it covers and that nothing bears, ``known`` the others.
    """

    path: Path
    rule: str
    where: str
    until: date | None
    matched: bool
    expired: bool
    known: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()


Review = Callable[[tuple[Acceptance, ...]], Said]


def _given(doc: str | None) -> str:
    return doc or ""


def _named(module: str) -> str:
    return module.rpartition(".")[2].replace("_", "-")


@frozen(eq=False, repr=False, slots=False)
class Rule:
    """One thing that holds of a well-wired layout.

    ``doc`` is its module's docstring: a sentence, then paragraphs that begin with ``Why:`` and ``Mend:``. ``needs``
    names the data without which it is not made. ``check`` looks at a case; ``review``, for the hygiene rules, at the
    exceptions after all others have run. ``name`` is made of its module's name.
    """

    doc: str = field(converter=_given)
    name: str = field(converter=_named)
    family: str
    severity: Severity
    check: Check | None
    needs: tuple[str, ...] = ()
    review: Review | None = None

    @cached_property
    def sentence(self) -> str:
        """What it holds."""
        return self._parts[0]

    @property
    def why(self) -> str:
        """Why that matters at the bench."""
        return self._told["Why"]

    @property
    def mend(self) -> str:
        """How to mend it."""
        return self._told["Mend"]

    @cached_property
    def _parts(self) -> list[str]:
        doc = self.doc or docstring(import_module(f"blockcheck.rules.{self.name.replace('-', '_')}"))
        parts = re.split(r"\n\s*\n|\n(?=Mend:)", doc)
        return [re.sub(r"\s+", " ", part).strip() for part in parts]

    @cached_property
    def _told(self) -> dict[str, str]:
        return {part.split(":")[0]: part.split(":", 1)[1].strip() for part in self._parts[1:] if ":" in part}


def unbuilt(study: Study, block: str) -> Lacks:
    """A block that could not be compiled."""
    return Lacks(block, feed_of(study.wiring.fed[block]))


def amps(value: float) -> str:
    """A current for people."""
    return show(value, DIMENSIONS[Amperes])


def metres(value: float, study: Study) -> str:
    """A length for people, in the layout's own units."""
    return show(value, DIMENSIONS[Metres], imperial=study.layout.about.units == "imperial")


def listed(names: tuple[str, ...] | list[str], most: int = 6) -> str:
    """Names as people list them: ``S1, S2 and S3``; a long list is cut."""
    return words.listed(names, most)


def in_scenario(scenario: str | None) -> str:
    """A clause that names the scenario, or nothing for the usual state."""
    return f' in scenario "{scenario}"' if scenario is not None else ""


def without_spare(board: Board, number: int) -> tuple[Rewrite, ...]:
    """A channel less among those that a board keeps spare."""
    left = ", ".join(str(one) for one in board.spare if one != number)
    return (Rewrite(("boards", board.name, "spare"), f"[{left}]"),)
