"""Every isolator does something.

Why: a switch on the panel that does nothing will be thrown by somebody who trusts it.

Mend: name it in the block that it switches (isolator = "..."), or take it off the panel and out of the file.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Severity
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Finding]:
    """A finding for each isolator that no block names and that is not meant for any."""
    for name, blocks in case.wiring.switched.items():
        if not blocks and not case.wiring.meant[name]:
            yield Finding(
                f"no block is wired through {name}",
                subject=name,
                at=("isolators", name),
                help=f'write isolator = "{name}" in the block that it switches, or remove it',
            )


RULE = Rule(__doc__ or "", "isolator-unused", "structure", Severity.WARNING, check)
