"""Nothing of a layout is ignored: take any key, table or item away, and the answer of some command is another one.

``python -m tests.fuzz.ignored examples/small-yard/yard.toml`` looks at every place of a layout, and prints those
without which every answer stays as it was: what says no more than the default does, or what nothing there uses.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator, Sequence
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


def told(case: Study) -> Iterator[Any]:
    """The answers of every command, the quick ones first; without lines, which move when something is taken away."""
    yield api.check(case, DAY)
    yield from (make(case) for make in (api.channels, api.wires, api.power, api.budget, api.wake, api.isolate_each))
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


if __name__ == "__main__":
    for name in sys.argv[1:]:
        whole = Path(name).read_text("utf-8")
        found = list(ignored(whole))
        print(f"{name}: {len(found)} of {len(every(whole))} places change nothing", *found, sep="\n  ")
