"""A layout has blocks.

Why: where no block is described nothing is checked, and no finding means nothing.

Mend: describe the blocks, or include the file that does.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding where there is no block at all."""
    yield Judged(None)
    if not study.layout.blocks:
        yield Finding(
            "no block is described: nothing was checked",
            subject=study.layout.about.name,
            at=("layout",),
            help='write [blocks.S1] with channel = "D1.1", or include = ["yard.toml"] for the file that has the blocks',
        )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
