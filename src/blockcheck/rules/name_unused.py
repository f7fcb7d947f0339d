"""Everything that is described is used.

Why: a table that nothing names changes nothing. Often it was meant to refine another, and its name was misspelt.

Mend: name it where it belongs, spell it like the one that it refines, or take it out.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import nearest
from blockcheck.core.shown import plain
from blockcheck.model.datum import data
from blockcheck.model.uses import uses
from blockcheck.rules._rule import Judged, Lacks, Rule, Said
from blockcheck.text.edits import key_of

_DIGITS = "0123456789"
_WORDS = {
    "boosters": ("booster", "no district is fed by booster {}"),
    "districts": ("district", "no block is fed by district {}"),
    "board_types": ("board type", "no board is of type {}"),
    "boards": ("board", "no block is on board {}"),
    "harnesses": ("harness", "no block is wired by harness {}"),
    "wires": ("wire", "nothing is wired with wire {}"),
    "panels": ("panel", "no control is on panel {}"),
    "rails": ("rail", "no harness has rail {}"),
    "loads": ("load", "no train and no district's expects has load {}"),
    "trains": ("train", "nowhere, nor in any scenario, stands train {}"),
}


def check(study: Study) -> Said:
    """One finding for all of a table that nothing uses, and one for each whose name is near to one that is used.

    Not made while something names one of its kind that does not exist: it may mean this one. A load of one's own counts
    by itself, for the smallest vehicle and the heaviest are looked for among all; it is told if its name is near.
    """
    if not study.layout.blocks:  # then nothing is used, and that is told
        return
    used = uses(study.wiring)
    for table, (kind, words) in _WORDS.items():
        paths = [one.path for one in study.wiring.unresolved if one.kind == kind]
        if table == "districts":  # nor does a block tell its own whose board is astray
            paths += [path for fed in study.wiring.fed.values() for path in fed.missing]
        astray = data(paths)
        for name in sorted(_described(study, table), key=natural_key):
            yield Judged(name)
            if name in used[table]:
                continue
            if astray:
                yield Lacks(name, astray)
                continue
            near = nearest(name, (one for one in used[table] if one.rstrip(_DIGITS) != name.rstrip(_DIGITS)))
            if near is None and table == "loads":
                continue
            yield Finding(
                words.format(plain(name)),
                subject=name,
                at=(table, name),
                help=_mend(study, table, near),
                own=None if near is None else Severity.WARNING,
                group=table if near is None else (table, name),
                also="nor",
            )


def _described(study: Study, table: str) -> Iterator[str]:
    """The names of a table; those of stock data are on offer, and not told of."""
    layers = study.wiring.document.layers
    return (name for name in getattr(study.layout, table) if not all(one.file.stock for one in layers[table, name]))


def _mend(study: Study, table: str, near: str | None) -> str:
    """A plain table refines a range; of another plain one its keys are wanted there. Stock data stay as they are."""
    layers = () if near is None else study.wiring.document.layers[table, near]
    if near is None or any(layer.file.stock for layer in layers):
        return "name it where it belongs, or take it out"
    header = f"[{table}.{plain(key_of(near))}]"
    return f"if it refines {plain(near)}, its keys belong below {header}; else name it where it belongs"


RULE = Rule(__doc__, __name__, "hygiene", Severity.NOTE, check)
