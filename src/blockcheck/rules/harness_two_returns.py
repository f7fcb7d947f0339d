"""The blocks of a harness share a return.

Why: a harness has one common bus; blocks of two returns on it join the returns of two boosters.

Mend: split the harness, or let the districts share a return by naming the same one.
"""

from __future__ import annotations

from collections.abc import Mapping

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._claims import Shared
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each harness whose blocks belong to districts of different returns."""
    harnesses = {str(fed.block.harness) for fed in study.wiring.fed.values() if fed.block.harness}
    yield from map(Judged, sorted(harnesses, key=natural_key))
    for harness, firsts in two_returns(study).items():
        one, other = firsts[:2]
        first, second = study.wiring.fed[one].district, study.wiring.fed[other].district
        yield Finding(
            f"harness {harness} has blocks of two returns: {one} belongs to {first}, {other} to {second}",
            subject=harness,
            at=("blocks", other, "harness"),
            others=firsts,
            related=(Label(("blocks", one, "harness"), f"{one} is in it here"),),
            help=f"give {other} another harness, or name one return for both districts",
            causes=frozenset({Shared(harness, firsts)}),
        )


def two_returns(study: Study) -> Mapping[str, tuple[str, ...]]:
    """Harness -> the first block of each return that its blocks belong to, for those with more than one."""
    groups = study.circuit.return_of
    homes: dict[str, dict[str, str]] = {}
    for name, fed in study.wiring.fed.items():
        if fed.block.harness is not None and fed.district in groups:
            homes.setdefault(str(fed.block.harness), {}).setdefault(groups[str(fed.district)], name)
    return {
        harness: tuple(homes[harness].values()) for harness in sorted(homes, key=natural_key) if len(homes[harness]) > 1
    }


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
