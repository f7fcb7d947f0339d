"""Every exception matches a finding.

Why: an exception that matches nothing hides the next fault of that name.

Mend: take the exception out.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.core.findings import Finding, Severity
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Acceptance, Rule


def review(accepts: tuple[Acceptance, ...]) -> Iterator[Finding]:
    """A finding for each exception that matched nothing and has not expired."""
    for one in accepts:
        if not one.matched and not one.expired:
            yield Finding(
                f"nothing to accept: no {one.rule} for {one.where}",
                subject=one.where,
                at=one.path,
                others=(one.rule,),
                help="take this exception out",
            )


RULE = Rule(
    __doc__ or "", "accept-unused", "hygiene", Severity.WARNING, None, review=review, subjects=_subjects.accepts
)
