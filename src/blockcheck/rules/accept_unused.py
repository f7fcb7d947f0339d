"""Every exception matches a finding, and covers nothing but what there is.

Why: an exception that matches nothing hides the next fault of that name; a range that reaches beyond what there is
hides those of blocks that are not built yet.

Mend: take the exception out, or end its range where the names end.
"""

from __future__ import annotations

from blockcheck.core.findings import Finding, Rewrite, Severity
from blockcheck.core.natural import condensed
from blockcheck.rules._rule import Acceptance, Judged, Rule, Said, listed
from blockcheck.text.edits import quoted


def review(accepts: tuple[Acceptance, ...]) -> Said:
    """A finding for each exception that has not expired and that matched nothing, or covers what does not exist."""
    for one in accepts:
        yield Judged(one.where)
        if one.expired or (one.matched and not one.unknown):
            continue
        does = "does" if len(one.unknown) == 1 else "do"
        yield Finding(
            f"this accepts {one.rule} for {listed(condensed(one.unknown))}, which {does} not exist"
            if one.matched
            else f"nothing to accept: no {one.rule} for {one.where}",
            subject=one.where,
            at=(*one.path, "where") if one.matched else one.path,
            others=(one.rule,),
            help=f'write where = "{", ".join(condensed(one.known))}"' if one.matched else "take this exception out",
            edits=(Rewrite((*one.path, "where"), quoted(", ".join(condensed(one.known)))),)
            if one.matched
            else (Rewrite(one.path, None),),
        )


RULE = Rule(
    __doc__,
    __name__,
    "hygiene",
    Severity.WARNING,
    None,
    review=review,
)
