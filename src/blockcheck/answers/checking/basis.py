"""What a verdict rests on: what was judged, what was taken for granted, what is not modelled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from attrs import frozen

from blockcheck.analysis.not_modelled import NotModelled, not_modelled
from blockcheck.analysis.power.defaults import Default, hopeful
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.core.columns import column
from blockcheck.rules import Report, rule_named


@frozen
class Basis:
    """What a verdict rests on."""

    blocks: int = column("How many blocks are described.")
    with_volts: int = column("In how many of them volts and amperes were judged.")
    contacts: int = column(
        "How many isolators and points, those that switch a frog, the rules on any state put in every position."
    )
    interlocks: int = column("How many interlocks keep positions out, as is taken for granted.")
    scenarios: int = column("How many scenarios were judged besides the usual state.")
    expectations: int = column("How many blocks those expect to be dead, lit, occupied or clear.")
    judged: Mapping[str, int] = column(
        "Every rule that is not off, with how many subjects it judged; the layout as one counts as one."
    )
    defaults: tuple[Default, ...] = column(
        "What the layout does not say and decided something, where the truth may be worse than what was taken."
    )
    not_modelled: tuple[NotModelled, ...] = column("What the layout shows to be there, and no rule judges.")

    @property
    def active(self) -> int:
        """How many rules had something to judge."""
        return sum(count > 0 for count in self.judged.values())


def basis_of(study: Study, report: Report) -> Basis:
    """What the rules' report on a study rests on. Electrics are those that the rules on them saw, which are known."""
    lacking: dict[str, set[str]] = {}
    for one in report.unchecked:
        lacking.setdefault(one.rule, set()).add(one.subject)
    judged, volts, seen = dict[str, int](), set[str](), study
    for applied in report.applied:
        lacks, rule = lacking.get(applied.rule, set[str]()), rule_named(applied.rule)
        judged[applied.rule] = len(applied.judged) - len(lacks.intersection(filter(None, applied.judged)))
        if rule is not None and rule.family == "electrics":
            volts |= {str(name) for name in applied.judged} - lacks
            seen = applied.study
    electrics = Electrics.of(seen, seen.operations[0])
    return Basis(
        len(study.wiring.fed),
        len(volts.intersection(electrics.grid.tracks)),  # not those of which a bound was enough to fail
        len(study.circuit.controls),
        len(study.layout.interlocks),
        len(study.operations) - 1,
        sum(len(named) for one in study.operations for named in one.expect.values()),
        judged,
        hopeful(study, electrics),
        not_modelled(study),
    )


def together(many: Iterable[Basis]) -> Basis | None:
    """What the verdict on several layouts rests on; None without any."""
    all_ = tuple(many)
    if not all_:
        return None
    counts = Counter[str]()
    for one in all_:
        counts.update(one.judged)
    return Basis(
        sum(one.blocks for one in all_),
        sum(one.with_volts for one in all_),
        sum(one.contacts for one in all_),
        sum(one.interlocks for one in all_),
        sum(one.scenarios for one in all_),
        sum(one.expectations for one in all_),
        dict(counts),
        tuple(dict.fromkeys(default for one in all_ for default in one.defaults)),
        tuple(dict.fromkeys(what for one in all_ for what in one.not_modelled)),
    )
