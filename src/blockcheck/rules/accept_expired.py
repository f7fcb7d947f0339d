"""Every exception is still within its date.

Why: what was accepted until a day was to be mended by then.

Mend: mend what was accepted, or give the exception a new date and reason.
"""

from __future__ import annotations

from blockcheck.core.findings import Finding, Rewrite, Severity
from blockcheck.rules._rule import Acceptance, Judged, Rule, Said


def review(accepts: tuple[Acceptance, ...]) -> Said:
    """A finding for each exception whose date has passed."""
    for one in accepts:
        yield Judged(one.where)
        if one.expired:
            yield Finding(
                f"the exception for {one.rule} of {one.where} expired on {one.until}",
                subject=one.where,
                at=(*one.path, "until"),
                others=(one.rule,),
                help="mend what was accepted, or give it a new date"
                if one.matched
                else "take this exception out: there is nothing left to accept",
                edits=() if one.matched else (Rewrite(one.path, None),),
            )


RULE = Rule(
    __doc__,
    __name__,
    "hygiene",
    Severity.WARNING,
    None,
    review=review,
)
