"""Every name that is referred to exists.

Why: a name that leads nowhere is a wire that leads nowhere; nothing behind it can be checked.

Mend: write the name as its table spells it, or add the table.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import nearest
from blockcheck.model.wiring import Unresolved
from blockcheck.rules._rule import Judged, Rule, Said, listed
from blockcheck.text.edits import quoted


def check(study: Study) -> Said:
    """One finding for each unknown name, however often it is referred to."""
    yield Judged(None)
    groups: dict[tuple[str, str], list[Unresolved]] = {}
    for one in study.wiring.unresolved:
        groups.setdefault((one.kind, one.name), []).append(one)
    for (kind, name), uses in groups.items():
        uses.sort(key=lambda use: tuple(natural_key(str(step)) for step in use.path))
        holders = tuple(dict.fromkeys(str(use.path[1]) for use in uses if isinstance(use.path[1], str)))
        places = list(
            dict.fromkeys(study.wiring.document.place(use.path, use.is_key) for use in uses)
        )  # a range says it once
        taken = {key for use in uses if use.is_key for key in study.wiring.document.value(use.path[:-1])}
        known = [one for one in uses[0].known if one not in taken]
        near = nearest(name, known)
        yield Finding(
            f'there is no {kind} "{name}"',
            subject=name,
            at=places[0],
            others=holders,
            related=tuple(Label(place, "also named here") for place in places[1:3]),
            help=f'did you mean "{near}"?'
            if near
            else _choice(kind, sorted(known, key=natural_key), "no other" if taken - {name} else "no"),
            edits=_respelt(study, uses, near) if near else (),
        )


def _respelt(study: Study, uses: list[Unresolved], near: str) -> tuple[Rewrite, ...]:
    """All uses with the name that was meant; none where it is one of a range. The number of a channel or pole stays."""
    found = []
    for use in uses:
        if use.is_key:
            found.append(Rewrite(use.path, near, key=True))
            continue
        name, dot, rest = str(study.wiring.document.value(use.path)).partition(".")
        if name != use.name:
            return ()
        found.append(Rewrite(use.path, quoted(f"{near}{dot}{rest}")))
    return tuple(found)


def _choice(kind: str, known: list[str], no: str) -> str:
    if kind == "wire":  # a size does, without a table
        one_of = "" if not known else f", or {known[0]}" if len(known) == 1 else f", or one of {listed(known, 12)}"
        return f'write a size such as "1.5 mm2" or "16 AWG"{one_of}'
    if not known:
        return f"the layout has {no} {kind}; take it out, or write its table"
    if len(known) == 1:
        return f"{known[0]} is the only {kind}; name that, or write the table of this one"
    return f"there are {listed(known, 12)}"


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
