"""A district whose polarity changes shares no return with another.

Why: what exchanges its rails ties its return to the other's detected rail, which shorts the boosters of both.

Mend: give it no return name that another district has; keep its wires apart from all others behind its device.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """One for each such district that names a return which another district has too."""
    group = study.circuit.return_of
    for name in sorted(group, key=natural_key):
        if not study.layout.districts[name].turns:
            continue
        yield Judged(name)
        others = [one for one in sorted(group, key=natural_key) if group[one] == group[name] and one != name]
        if others:
            yield Finding(
                f"the polarity of {name} changes, and it shares a return with {others[0]}",
                subject=name,
                at=("districts", name, "return"),
                others=tuple(others),
                related=(Label(("districts", others[0], "return"), "the same return"),),
                help=f"take return out of {name}, and wire its return by itself",
            )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
