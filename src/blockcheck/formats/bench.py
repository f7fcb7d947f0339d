"""The test sheet to fill in as TOML, which trace reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.answers.document import CAUTION
from blockcheck.formats.escape import for_text, for_toml
from blockcheck.formats.marks import SIGNATURE

if TYPE_CHECKING:
    from blockcheck.answers.workshop.bench import BenchAnswer


def bench_toml(answer: BenchAnswer) -> str:
    """The sheet to fill in: what ``trace`` reads."""
    import tomli_w

    head = [
        f"# {SIGNATURE}, which writes it anew only while no reading stands in it.",
        f"# Readings of {for_text(answer.layout)}. Fill in, save, and ask: blockcheck trace LAYOUT THIS-FILE",
        '# Write what was read, with its unit: "46 mohm", "14.2 V", "open"; of a beeper "beeps" or "silent"; channels',
        '# or breakers by name: "D1.3", "D1.3, D1.4", "none"; channels also by the number that they report as: "103".',
        '# "ok" is what is expected. What was not read stays "".',
        f"# {CAUTION}",
        "",
    ]
    steps = [
        {
            "id": one.id,
            **({"with": one.instrument} if one.instrument else {}),
            "do": one.do,
            "red": one.red,
            "black": one.black,
            "expect": one.expect,
            "reading": "",
        }
        for one in answer.steps
    ]
    setup = {"dead": list(answer.setup.dead), "live": list(answer.setup.live)}
    values = {"format": 1, "layout": answer.layout, "date": "", "who": "", "setup": setup, "steps": steps}
    return "\n".join(head) + for_toml(tomli_w.dumps(values, multiline_strings=False))
