"""Nothing of a layout is ignored: take any key, table or item away, and the answer of some command is another one.

``python -m tests.fuzz.ignored examples/small-yard/yard.toml`` looks at every place of a layout, and prints those
without which every answer stays as it was: what says no more than the default does, or what nothing there uses. Those
that are meant are listed with their reason; one that is listed and changes something is told too.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import tomli_w

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.core.errors import BlockcheckError
from tests.properties.less import Place, places, without

DAY = date(2030, 1, 1)
WHERE = ("line", "column", "edits", "digest")


LISTED: Mapping[str, Mapping[Place, str]] = {
    "small-yard/yard.toml": {
        ("layout", "scale"): "stands on the cover of the book",
        ("loads", "shunter", "locomotive"): "it has no other datum by which it would be judged otherwise",
    }
}
"""Example -> the places that change none of these answers, and why that is right."""


def told(case: Study) -> Iterator[Any]:
    """The answers of every command, the quick ones first; without lines, which move when something is taken away."""
    yield api.check(case, DAY)
    yield from (make(case) for make in (api.channels, api.wires, api.power, api.budget, api.wake, api.isolate_each))
    if case.layout.isolators:
        yield api.panel(case)
    yield api.draw(case, today=DAY)
    yield api.page(case, DAY)
    yield api.bench(case)


def plain(value: Any) -> Any:
    """An answer's data without where things stand in the file."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items() if key not in WHERE}
    return [plain(one) for one in value] if isinstance(value, list) else value


def ignored(text: str, some: Sequence[Place] | None = None) -> Iterator[Place]:
    """The places (all of them, or some) without which nothing is answered otherwise, and nothing is refused."""
    values = tomllib.loads(text)
    usual, known = told(api.loads(text)), list[Any]()
    for place in every(text) if some is None else some:
        try:
            less = api.loads(tomli_w.dumps(without(values, [place])))
            for number, answer in enumerate(told(less)):
                if number == len(known):
                    known.append(plain(next(usual).to_dict()))
                if plain(answer.to_dict()) != known[number]:
                    break
            else:
                yield place
        except BlockcheckError:
            continue


def every(text: str) -> list[Place]:
    """Every place of a layout but its format."""
    return [one for one in places(tomllib.loads(text)) if one != ("format",)]


def main(names: Sequence[str]) -> int:
    """Print of each file what is ignored and not listed, and what is listed and not ignored; 1 where there is any."""
    wrong = 0
    for name in names:
        whole, listed = Path(name).read_text("utf-8"), LISTED.get("/".join(Path(name).parts[-2:]), {})
        found = {*ignored(whole)}
        print(f"{name}: {len(found)} of {len(every(whole))} places change nothing, {len(listed)} are listed")
        print(*(f"  {one}" for one in sorted(found - {*listed}, key=str)), sep="\n")
        print(*(f"  listed, and not ignored: {one}" for one in {*listed} - found), sep="\n")
        wrong += len(found ^ {*listed})
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
