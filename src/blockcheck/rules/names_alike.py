"""No two names of one kind read alike.

Why: R1 and r1 are two tables to the file and one track to whoever reads it; what is written of the one is missed at the
other. Where a control or a wire says in words that it is at a panel, words that nearly are a panel's name are taken for
a place of their own, and the wires to that panel are missed.

Mend: where one thing is meant, write its name alike at both places; else give one of them a name that tells them apart.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.core.alike import alike, apart
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.nearest import misspelt
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path
from blockcheck.model.layout import SUBJECTS
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each name that reads like an earlier one of its table, or like an earlier group."""
    for table, places in _names(study).items():
        yield from map(Judged, places)
        for first, name in alike(places):
            yield Finding(
                f"{shown(first)} and {shown(name)} of {table} read alike: {apart(first, name)}",
                subject=name,
                at=places[name],
                others=(first,),
                related=(Label(places[first], "the other one"),),
                help=f"if one is meant, write {shown(first)} at both places; else give one another name",
            )
    yield from _misspelt(study)


def _misspelt(study: Study) -> Iterator[Finding]:
    """A finding for all words that read like one panel's name."""
    layout = study.layout
    said: list[tuple[str, Path]] = [
        (one.panel, (table, name, "panel"))
        for table in ("isolators", "selectors")
        for name, one in getattr(layout, table).items()
        if one.panel is not None
    ]
    said += [
        (end, ("runs", name, "ends", at)) for name, run in layout.runs.items() for at, end in enumerate(run.ends or ())
    ]
    places: dict[tuple[str, str], list[Path]] = {}
    for words, path in said if layout.panels else ():
        panel = misspelt(words, layout.panels) if words not in layout.panels else None
        if panel is not None:
            places.setdefault((words, panel), []).append(path)
    for (words, panel), paths in places.items():
        yield Finding(
            f"{shown(words)} is no panel, and reads like panel {shown(panel)}",
            subject=str(paths[0][1]),
            at=paths[0],
            others=(*(str(path[1]) for path in paths[1:]), panel),
            related=(Label(("panels", panel), "the panel"),),
            help=f"if that panel is meant, write {shown(panel)}; else say in other words where it is",
        )


def _names(study: Study) -> dict[str, dict[str, Path]]:
    """Kind of thing -> its names, in the order of the layout, and where each is given."""
    layout = study.layout
    found: dict[str, dict[str, Path]] = {
        table: {name: (table, name) for name in getattr(layout, table)} for table in SUBJECTS
    }
    groups: dict[str, Path] = {}
    for name, block in layout.blocks.items():
        if block.group is not None:
            groups.setdefault(block.group, ("blocks", name, "group"))
    return {**found, "groups": groups}


RULE = Rule(__doc__, __name__, "structure", Severity.WARNING, check)
