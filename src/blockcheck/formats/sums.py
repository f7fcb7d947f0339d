"""What a check comes to: the verdict, and everything that may have kept a finding from being told, counted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.answers.lacking import in_brief
from blockcheck.core.findings import Severity
from blockcheck.core.words import plural

if TYPE_CHECKING:
    from blockcheck.answers.check import CheckAnswer

NO_ERRORS = "no errors"


def sum_of(answer: CheckAnswer) -> str:
    """The last line of a check, without the name of the layout: ``no errors: 1 note; 3 checks not made``."""
    return "; ".join([verdict_of(answer), *reservations_of(answer)])


def verdict_of(answer: CheckAnswer) -> str:
    """What was found."""
    counts = ", ".join(
        plural(answer.count(severity), severity.value) for severity in Severity if answer.count(severity)
    )
    if not answer.understood:
        return f"the input could not be understood: {counts or 'nothing was read'}"
    if answer.count(Severity.ERROR):
        return counts
    return NO_ERRORS + (f": {counts}" if counts else "")


def reservations_of(answer: CheckAnswer) -> Iterator[str]:
    """What the verdict does not speak of: checks not made, what is accepted, off, ranked down or lax, a baseline."""
    if answer.unchecked:
        undecided = f", {answer.undecided} of them undecided" if answer.undecided else ""
        yield plural(len(answer.unchecked), "check") + " not made" + undecided
    if answer.accepted:
        yield f"{len(answer.accepted)} accepted"
    if answer.off:
        hidden = sum(one.findings for one in answer.off)
        yield f"{plural(len(answer.off), 'rule')} off" + (f", hiding {plural(hidden, 'finding')}" if hidden else "")
    if answer.milder:
        lowered = sum(one.findings for one in answer.milder)
        yield f"{plural(len(answer.milder), 'rule')} ranked down" + (
            f", with {plural(lowered, 'finding')}" if lowered else ""
        )
    if answer.laxer:
        yield f"{plural(len(answer.laxer), 'limit')} laxer than by default"
    if answer.gone is not None:
        new = len(answer.new)
        yield f"{new} new, {len(answer.findings) - new} known and {len(answer.gone)} gone since the baseline"


def rests_on(answer: CheckAnswer) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What the verdict rests on, under up to three heads: what was judged, was taken for granted, is not modelled."""
    basis = answer.basis
    if basis is None:
        return
    volts = {0: " without volts", basis.blocks: " with volts"}.get(basis.with_volts, f", {basis.with_volts} with volts")
    yield (
        "judged",
        (
            f"{plural(basis.blocks, 'block')}{volts}",
            f"by {basis.active} of {plural(len(basis.judged), 'rule')}",
            *([f"in all positions of {plural(basis.contacts, 'contact')}"] if basis.contacts else []),
            *([f"but what {plural(basis.interlocks, 'interlock')} is said to keep out"] if basis.interlocks else []),
            *([f"in {plural(basis.scenarios, 'scenario')}"] if basis.scenarios else []),
        ),
    )
    for head, told in (
        ("defaults", tuple(in_brief(basis.defaults))),
        ("not modelled", tuple(dict.fromkeys(one.what for one in basis.not_modelled))),
    ):
        if told:
            yield head, told


def rests_on_lines(answer: CheckAnswer) -> Iterator[str]:
    """Each of those in a line, whole: ``judged: 7 blocks with volts, by 38 of 49 rules``."""
    return (f"{head}: {', '.join(told)}" for head, told in rests_on(answer))


def kept_back(answer: CheckAnswer) -> Iterator[str]:
    """Each rule that is off or ranked down and each limit that is lax, in a line."""
    for off in answer.off:
        yield f"{off.rule} is off: {plural(off.findings, 'finding')} not told"
    for milder in answer.milder:
        yield (
            f"{milder.rule} is ranked down to {milder.severity}: {plural(milder.findings, milder.default)} told as "
            f"{milder.severity}"
        )
    for laxer in answer.laxer:
        yield f"limits.{laxer.limit} is {laxer.value}; the default, {laxer.default}, is stricter"
