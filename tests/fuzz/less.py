"""Layouts that say less: keys, tables and includes taken away from every example and every case of a rule.

Whatever is left is answered or refused, without a defect. And where only data are taken away that the language lets one
leave out, no error of the whole layout goes without a word: it is found again, or what was not checked names its rule.

``python -m tests.fuzz.less 200000`` looks at so many layouts on every core, and prints what failed with its seed.
"""

from __future__ import annotations

import os
import random
import sys
import time
import tomllib
import traceback
from collections import Counter
from collections.abc import Callable, Container, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from pathlib import Path
from typing import Any, get_args, get_type_hints

import tomli_w
from attrs import fields, frozen

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.core.errors import BlockcheckError, InputError
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.spans import Place as Spot
from blockcheck.core.spans import SourceFile
from blockcheck.model import layout, quantities
from blockcheck.model.keys import Conductor
from blockcheck.text.positions import scan
from tests.properties.less import Place, places, without

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted(
    path
    for folder in ("examples", "tests/rules", "src/blockcheck/rules/examples")
    for path in (ROOT / folder).rglob("*.toml")
    if "readings" not in path.name
)
ANSWERS: tuple[Callable[[Study], object], ...] = (api.budget, api.power, api.wake, api.channels, api.wires)
"""What else is asked of some of the layouts."""


def unknown() -> frozenset[str]:
    """The keys whose absence says that something is not known: quantities and conductors without a default."""
    kinds = {Conductor, *(one for one in vars(quantities).values() if getattr(one, "__supertype__", None) is float)}
    found = {"feed", "rail", "harness", "capacitance"}
    for table in layout.SUBJECTS.values():
        hints = get_type_hints(table, vars(layout))
        for field in fields(table):
            if field.default is None and kinds & {hints[field.name], *get_args(hints[field.name])}:
                found.add(field.metadata["toml"])
    return frozenset(found - OTHERS)


OTHERS = frozenset({"hold", "segment", "trip", "current", "offset", "allowance", "leakage", "rail", "resistance"})
"""Left out, they say another thing, not an unknown one: no resistor, no joint, what the size tells ..."""


@frozen
class Whole:
    """A layout as TOML has it, and what is found in it; no answer where it is refused."""

    values: dict[str, Any]
    lines: dict[Place, int]
    answer: CheckAnswer | None


@cache
def whole(file: Path) -> Whole:
    """The whole layout of a file."""
    text = file.read_text("utf-8")
    source, values = SourceFile(str(file), text), tomllib.loads(text)
    lines = {place: source.place(spot.value).line for place, spot in scan(text).items()}
    try:
        answer = api.check(api.loads(text, file))
    except InputError:
        answer = None
    return Whole(values, lines, answer)


def made(seed: int) -> tuple[Path, dict[str, Any], list[Place], bool]:
    """The layout of a seed: of which file, what is left, what was taken away, and whether these are unknowns alone."""
    chance = random.Random(seed)
    file = chance.choice(FILES)
    values = whole(file).values
    every = list(places(values))
    data = chance.random() < 0.5
    if data:
        names = unknown()
        known = [place for place in every if place[-1] in names and place[0] != "trains"]  # their vehicles tell
        every, data = (known, True) if known else (every, False)
    away = chance.sample(every, min(len(every), chance.choice((1, 1, 1, 2, 3, 5, len(every) // 3 or 1))))
    return file, without(values, away), away, data


def examine(seed: int) -> tuple[str, str | None]:
    """What became of the layout of a seed, and what is wrong with that."""
    file, left, away, data = made(seed)
    try:
        case = api.loads(tomli_w.dumps(left), file)
        answer = api.check(case)
        if seed % 5 == 0:
            ANSWERS[seed // 5 % len(ANSWERS)](case)
    except BlockcheckError:
        return "refused", None
    except Exception:
        return "defect", f"{seed} {file.relative_to(ROOT)} without {away}\n{traceback.format_exc()}"
    before = whole(file)
    lines = {before.lines.get(place) for place in away}
    hidden = list(silent(before.answer, answer, lines)) if data and before.answer is not None else []
    if hidden:
        texts = "\n".join(f"  {one.fingerprint}: {one.message}" for one in hidden)
        return "silent", f"{seed} {file.relative_to(ROOT)} without {away}\n{texts}"
    return "answered", None


def silent(before: CheckAnswer, after: CheckAnswer, gone: Container[int | None]) -> Iterator[Finding]:
    """The errors of the whole layout of which the one that says less, some lines of it gone, says nothing."""
    told = {one.rule for one in after.unchecked}
    now = {(one.rule, name) for one in after.findings for name in (one.subject, *one.others)}
    for one in before.findings:
        again = any((one.rule, name) in now for name in (one.subject, *one.others))
        own = any(at.line in gone for at in (one.at, *(label.at for label in one.related)) if isinstance(at, Spot))
        if one.severity is Severity.ERROR and not again and one.rule not in told and not own:
            yield one


def main(count: int, first: int = 0) -> int:
    """Look at that many layouts; prints the failures and a summary, returns 1 where there are any."""
    began, outcomes = time.monotonic(), Counter[str]()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for outcome, wrong in pool.map(partial(examine), range(first, first + count), chunksize=100):
            outcomes[outcome] += 1
            if wrong:
                print(wrong, flush=True)
    print(f"{count} layouts from seed {first} in {time.monotonic() - began:.0f} s: {dict(outcomes)}")
    return 1 if outcomes["defect"] or outcomes["silent"] else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
