"""What a rule is, and the few words that rules share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import date

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.core.spans import Path
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, show

Check = Callable[[Case], Iterator[Finding | Unchecked]]


@frozen
class Acceptance:
    """One entry of ``[[accept]]`` after all rules have run: what it matched, and whether its date has passed."""

    path: Path
    rule: str
    where: str
    until: date | None
    matched: bool
    expired: bool


Review = Callable[[tuple[Acceptance, ...]], Iterator[Finding]]


@frozen
class Rule:
    """One thing that holds of a well-wired layout.

    ``sentence`` says what it holds, ``why`` why that matters at the bench, ``mend`` how to mend it; ``needs`` names
    the data without which it is not made. ``check`` looks at a case; ``review``, for the hygiene rules, at the
    exceptions after all others have run.
    """

    name: str
    family: str
    severity: Severity
    sentence: str
    why: str
    mend: str
    needs: tuple[str, ...]
    check: Check | None
    review: Review | None = None

    @classmethod
    def of(
        cls,
        doc: str | None,
        name: str,
        family: str,
        severity: Severity,
        check: Check | None,
        needs: tuple[str, ...] = (),
        review: Review | None = None,
    ) -> Rule:
        """A rule from its module's docstring: a sentence, then paragraphs that begin with ``Why:`` and ``Mend:``."""
        parts = [re.sub(r"\s+", " ", part).strip() for part in re.split(r"\n\s*\n|\n(?=Mend:)", doc or "")]
        told = {part.split(":")[0]: part.split(":", 1)[1].strip() for part in parts[1:] if ":" in part}
        return cls(name, family, severity, parts[0], told["Why"], told["Mend"], needs, check, review)


def unbuilt(case: Case, rule: str, block: str) -> Unchecked:
    """A block that could not be compiled, as an unchecked subject."""
    missing = case.wiring.fed[block].missing
    return Unchecked(rule, block, tuple(".".join(map(str, path)) for path in missing) or (f"blocks.{block}.district",))


def amps(value: float) -> str:
    """A current for people."""
    return show(value, DIMENSIONS[Amperes])


def metres(value: float, case: Case) -> str:
    """A length for people, in the layout's own units."""
    return show(value, DIMENSIONS[Metres], imperial=case.layout.about.units == "imperial")


def listed(names: tuple[str, ...] | list[str], most: int = 6) -> str:
    """Names as people list them: ``S1, S2 and S3``; a long list is cut."""
    if len(names) > most:
        return ", ".join(names[:most]) + f" and {len(names) - most} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def in_scenario(scenario: str | None) -> str:
    """A clause that names the scenario, or nothing for the usual state."""
    return f' in scenario "{scenario}"' if scenario is not None else ""


def isolation_claim(isolator: str, block: str) -> Path:
    """The cause that findings on one isolator and one block share, so that they are reported once."""
    return ("isolation", isolator, block)
