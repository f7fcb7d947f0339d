"""No state joins two districts' detected rails, nor two returns that are separate.

Why: two boosters on one piece of rail fight each other, and a breaker that lets go is held up by its neighbour.

Mend: cut both rails where the districts meet: gap = "both"; where they share a return, gap = "detected" is enough.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.isolation.ways import Stray, between_districts
from blockcheck.analysis.study import Study
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules._claims import Isolates, Shared
from blockcheck.rules._joints import alike, with_gap
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed
from blockcheck.rules.harness_two_returns import two_returns
from blockcheck.rules.pole_shared import conductors_of_poles


def check(study: Study) -> Said:
    """A finding for each part that joins two districts.

    One pole for several conductors, and one harness for several returns, have rules of their own; what follows from
    them is told where those are off, or accept it.
    """
    yield Judged(None)
    for finding in _shared(study):
        study = study.mending(finding.causes)
        yield finding
    for district in sorted(study.circuit.feeds, key=natural_key):
        for stray in between_districts(study, district):
            if isinstance(stray, Undecided):
                yield Lacks(district, UNDECIDED)
                continue
            culprit = stray.culprit
            fed_twice = culprit is not None and culprit[0] == "isolators"
            finding = _two_changeovers(study, stray) if fed_twice else _finding(study, district, stray)
            study = study.mending(finding.causes)
            yield finding


def _shared(study: Study) -> Iterator[Finding]:
    """A finding for each pole or harness that makes conductors of several districts one, and no earlier rule blames."""
    fed = study.wiring.fed
    for pole, ends in sorted(conductors_of_poles(study).items()):
        isolator = study.layout.isolators[pole.isolator]
        groups = study.circuit.return_of if isolator.side == "common-rail" else {}
        firsts: dict[str, str] = {}
        for block in ends.values():
            home = str(fed[block].district)
            firsts.setdefault(groups.get(home, home), block)
        if isolator.contact == "on-off" and len(firsts) > 1:
            rail = "common" if isolator.side == "common-rail" else "detected"
            what = f"{rail} conductors end in one pole, {pole}"
            claim = Shared(str(pole), ends.values())
            yield from _one(study, tuple(firsts.values()), "isolator", what, claim, "give each a pole of its own")
    for harness, blocks in two_returns(study).items():
        what = f"returns are one common bus in harness {harness}"
        claim = Shared(harness, blocks)
        yield from _one(study, blocks, "harness", what, claim, f"give {blocks[1]} another harness")


def _one(study: Study, blocks: tuple[str, ...], key: str, what: str, claim: Shared, mend: str) -> Iterator[Finding]:
    if claim not in study.claims:
        homes = [str(study.wiring.fed[block].district) for block in blocks]
        yield Finding(
            f"districts {listed(homes)} are joined: their {what}",
            subject=blocks[0],
            at=("blocks", blocks[1], key),
            others=blocks[1:],
            related=tuple(Label(("blocks", name), _home(study, name)) for name in blocks[:2]),
            help=mend,
            causes=frozenset({claim}),
        )


def _two_changeovers(study: Study, stray: Stray) -> Finding:
    """Two changeovers whose commons both go to the feed terminal of one bank."""
    assert stray.culprit is not None
    last, wiring = str(stray.culprit[1]), study.wiring
    first = next(name for name in stray.way if name in wiring.switched and name != last)
    one, other = sorted((first, last), key=natural_key)
    block, neighbour = wiring.switched[other][0], wiring.switched[one][0]
    fed = wiring.fed[block]
    bank = [name for name, each in wiring.fed.items() if (each.board, each.bank) == (fed.board, fed.bank)]
    claims = {Isolates(name, each) for name in (one, other) for each in bank}
    return Finding(
        f"{one} and {other} both feed bank {fed.bank} of board {fed.board.name if fed.board else ''}, "
        f"and join districts {stray.way[0]} and {stray.way[-1]}",
        subject=one,
        at=("blocks", block, "isolator"),
        others=(other,),
        related=(Label(("blocks", neighbour, "isolator"), f"{neighbour} of the same bank names {one}"),),
        state=stray.state or None,
        way=stray.way,
        help=f"let every block of the bank name one changeover, or move {block} to another bank",
        causes=frozenset({stray.culprit, *claims}),
    )


def _finding(study: Study, district: str, stray: Stray) -> Finding:
    other = stray.way[-1]
    path: Path = stray.culprit or ("districts", other)
    rails, gap = f"their {stray.rail} rails", "detected"
    subject, others = district, (other,)
    where = ""
    if path[0] == "joints":
        first, second = sorted(study.layout.joints[int(path[1])].blocks, key=natural_key)
        group = study.circuit.return_of
        separate = group[district] != group[other]
        cut = study.layout.joints[int(path[1])].gap
        if separate or cut == "common":
            gap = "both"
        if stray.rail == "detected" and separate and cut == "none":
            rails = "both their rails"
        district, other = _homes(study, stray, first, second) or (district, other)
        where = f" where {first} meets {second}"
        subject, others = first, (second,)
    return Finding(
        f"districts {district} and {other} are joined by {rails}{where}",
        subject=subject,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=others,
        related=tuple(
            Label(("blocks", name), _home(study, name)) for name in (subject, *others) if name in study.wiring.fed
        ),
        state=stray.state or None,
        way=stray.way,
        help=f'cut the joint: gap = "{gap}"' if path[0] == "joints" else "take the connection out",
        edits=with_gap(path, gap) if path[0] == "joints" else (),
        group=alike(study, path, district, other),
        causes=frozenset({stray.culprit} if stray.culprit else {}),
    )


def _homes(study: Study, stray: Stray, first: str, second: str) -> list[str] | None:
    """The districts of two blocks where those are what is joined: what shares a return with one may be on the way."""
    homes = sorted({str(study.wiring.fed[block].district) for block in (first, second)}, key=natural_key)
    group = study.circuit.return_of
    parts = (study.layout.isolators.get(name) for name in stray.way)
    changed = any(part is not None and part.contact == "changeover" for part in parts)  # its blocks have two
    joined = homes if stray.rail == "detected" else {group.get(home) for home in homes}
    return None if changed or len(joined) < 2 else homes


def _home(study: Study, block: str) -> str:
    fed = study.wiring.fed[block]
    if fed.changeover is not None:
        return f"{block} is fed through {fed.changeover.name}, from {' or '.join(fed.changeover.between or ())}"
    return f"{block} belongs to {fed.district}"


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
