"""Every isolator does something.

Why: a switch on the panel that does nothing will be thrown by somebody who trusts it.

Mend: name it in the block that it switches (isolator = "..."), or take it off the panel and out of the file.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.model.datum import data
from blockcheck.rules._rule import Judged, Lacks, Rule, Said


def check(study: Study) -> Said:
    """A finding for each isolator that no block names and that is not meant for any.

    Not made while a block names an isolator that does not exist: it may mean this one.
    """
    astray = data(one.path for one in study.wiring.unresolved if one.kind == "isolator")
    for name, blocks in study.wiring.switched.items():
        yield Judged(name)
        if blocks or study.layout.isolators[name].isolates:
            continue
        if astray:
            yield Lacks(name, astray)
        else:
            yield Finding(
                f"no block is wired through {name}",
                subject=name,
                at=("isolators", name),
                help=f'write isolator = "{name}" in the block that it switches, or remove it',
            )


RULE = Rule(__doc__, __name__, "structure", Severity.WARNING, check)
