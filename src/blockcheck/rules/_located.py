"""Findings with every path turned into the place that it stands at."""

from __future__ import annotations

import attrs

from blockcheck.core.findings import Finding, Label, Rewrite
from blockcheck.core.spans import Path, Place
from blockcheck.model.layout import SUBJECTS
from blockcheck.text.document import Document
from blockcheck.text.edits import edits_of


def located(finding: Finding, document: Document) -> Finding:
    """A finding with its paths turned into places."""

    def place(at: Path | Place) -> Place:
        if isinstance(at, Place):
            return at
        return document.place(at, key=len(at) == 2 and at[0] in SUBJECTS)  # a thing is pointed at by its name

    related = tuple(Label(place(label.at), label.message) for label in finding.related)
    ways = ((name, _home(name, document)) for name in finding.way or ())
    hops = tuple(Label(place(at), name) for name, at in ways if at is not None)
    edits = edits_of(document, (one for one in finding.edits if isinstance(one, Rewrite))) if finding.edits else ()
    return attrs.evolve(finding, at=place(finding.at), related=related, hops=hops, edits=edits)


def _home(name: str, document: Document) -> Path | None:
    """The table of a part that the current passes; of a channel or a pole its board or isolator."""
    for one in (name, name.partition(".")[0]):
        for table in ("boosters", "districts", "boards", "isolators", "blocks", "turnouts"):
            if one in document.values.get(table, ()):
                return table, one
    return None
