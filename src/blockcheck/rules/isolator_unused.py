"""Every isolator does something.

Why: a switch on the panel that does nothing will be thrown by somebody who trusts it.

Mend: name it in the block that it switches (isolator = "..."), or take it off the panel and out of the file.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule


def check(study: Study) -> Iterator[Finding | Unchecked]:
    """A finding for each isolator that no block names and that is not meant for any.

    Not made while a block names an isolator that does not exist: it may mean this one.
    """
    astray = tuple(".".join(map(str, one.path)) for one in study.wiring.unresolved if one.kind == "isolator")
    for name, blocks in study.wiring.switched.items():
        if blocks or study.layout.isolators[name].isolates:
            continue
        if astray:
            yield Unchecked("isolator-unused", name, astray)
        else:
            yield Finding(
                f"no block is wired through {name}",
                subject=name,
                at=("isolators", name),
                help=f'write isolator = "{name}" in the block that it switches, or remove it',
            )


RULE = Rule(__doc__ or "", "isolator-unused", "structure", Severity.WARNING, check, subjects=_subjects.isolators)
