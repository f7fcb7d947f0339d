"""How often the page in hand names a fault by its own readings, with noise. Prints shares; it is no test.

    python -m tests.benchmarks.faults_on_page [EVERY [EXAMPLE[+meter|+supply] ...]]

Every single fault of the table (or every so many-th) is put into the small and the club example, exactly as predicted,
and with the spread of `tests/second_model.py`: each resistance off by up to a quarter, the meter by 2 % and a milliohm.
Those of the small one are put into the second model too, which shares no code with the predictions. Asked is that all
that are exact come first or tied (no fault explains more of what was read), and 90 % of the others.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import blockcheck
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.sheet import rounded
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.units import cut
from blockcheck.analysis.bench.wired import BEEPER, BEEPS_OHM, VOLTS
from blockcheck.answers.page.rows import PageStep
from blockcheck.answers.workshop.parts import sheet_of
from blockcheck.types import PageAnswer, Study
from tests.benchmarks.trace import SMALL
from tests.outside.browser import chromium
from tests.outside.inhand import example
from tests.second_faults import Second
from tests.second_model import shown_by_a_meter

Case = tuple[str, Mapping[int, str]]
"""A fault in words, and step -> what is written."""
WITH = {"": ("beeper", "axle"), "meter": ("meter",), "supply": ("supply",)}
NAMES = [f"{name}{more}" for name in ("small", "club") for more in ("", "+meter", "+supply")]
SPREAD = 0.25
BOUGHT, BOUGHT_OHM = 0.05, 50.0
"""What is above so many ohms is a resistor or a lamp, which is bought by its value: 5 %, series E24 of IEC 60063."""
ASK = """
(cases) => {
  blockcheck.open("tests");
  const { explained, taken } = blockcheck;
  return cases.map(([words, readings]) => {
    taken().clear();
    for (const [step, reading] of Object.entries(readings)) taken().set(Number(step), { reading, on: "" });
    const { off, found } = explained();
    return [off.length > 0, found.findIndex((one) => one.words === words)];
  });
}
"""


def written(value: float | frozenset[str], step: PageStep, chance: random.Random | None) -> str:
    """What somebody writes down; without chance, what is predicted itself."""
    if isinstance(value, frozenset):
        return ", ".join(sorted(value)) or "none"
    if step.instrument == BEEPER:
        return "beeps" if value <= BEEPS_OHM else "silent"
    seen = shown_by_a_meter(value, chance) if chance else value
    assert isinstance(seen, float)
    return f"{rounded(seen)} {'V' if step.kind == 'volts' else 'ohm'}" if seen < 1e5 else "open"


def predicted(
    study: Study, page: PageAnswer, at_hand: tuple[str, ...], chance: random.Random | None, every: int
) -> Iterator[Case]:
    """Each fault's words, and what the steps of the page's sheet would read of it."""
    own = Bench.of(study)
    for part, rim in cut(study):
        sheet = sheet_of(own if part is study else Bench(part, own.axle_ohm), at_hand, Tolerance(), rim=rim)
        known = {one.id: number for number, one in enumerate(sheet.steps)}
        mine = [(one, known[one.id]) for one in steps_of(page) if one.id in known]
        for case, (fault, _) in [*enumerate(sheet.cases, 1)][::every]:
            off, bought = (chance.uniform(1 - one, 1 + one) if chance else 1.0 for one in (SPREAD, BOUGHT))
            read = [(step, sheet.predicted.value(test, case)) for step, test in mine]
            yield (
                words_of(fault),
                {
                    step.step: written(
                        one
                        if isinstance(one, Names) or step.kind == VOLTS
                        else float(one) * (off if float(one) < BOUGHT_OHM else bought),
                        step,
                        chance,
                    )
                    for step, one in read
                },
            )


def second(study: Study, page: PageAnswer, chance: random.Random, every: int) -> Iterator[Case]:
    """The same of yards of the second model, each with one fault of a size that is typical of it."""
    bench, text = Bench.of(study), SMALL.read_text("utf-8")
    sized = [(fault, ohms) for fault in causes(bench) for ohms in (fault.size.typical if fault.size else (0.0,))]
    for fault, ohms in sized[::every]:
        yard = Second(text, random.Random(chance.random()))
        yard.break_(fault.id, ohms, fault.guess)
        found = {}
        for step in steps_of(page):
            own = bench.by_id[step.id]
            value = yard.read(own.id, own.kind, {**bench.state, **dict(own.state)}, own.across)
            found[step.step] = written(value, step, chance)
        yield words_of(fault), found


def steps_of(page: PageAnswer) -> tuple[PageStep, ...]:
    """The steps of a page that has a sheet."""
    assert page.tests is not None
    return page.tests.steps


def words_of(fault: Fault) -> str:
    """As the page's table has a fault of any size."""
    return fault.words.partition(": about ")[0]


def main(every: int, names: Sequence[str]) -> None:
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        window, chance = browser.new_page(), random.Random(3)
        for name in names:
            at_hand = WITH[name.partition("+")[2]]
            study = example(name.partition("+")[0])
            page = blockcheck.page(study, at_hand=at_hand)
            file = Path(folder) / "page.html"
            file.write_text(blockcheck.render(page, "html"), "utf-8")
            window.goto(file.as_uri())
            cases = {
                "exactly as predicted": list(predicted(study, page, at_hand, None, every)),
                "as predicted, with noise": list(predicted(study, page, at_hand, chance, every)),
            }
            if name.startswith("small"):
                cases["of the second model"] = list(second(study, page, chance, every))
            for sort, some in cases.items():
                told = [place for off, place in window.evaluate(ASK, some) if off]
                first = sum(place >= 0 for place in told)
                print(
                    f"{name} with {' and '.join(at_hand)}, {sort}: of {len(some)} faults {len(told)} show,"
                    f" {first / max(len(told), 1):.1%} of them first or tied"
                )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1, sys.argv[2:] or NAMES)
