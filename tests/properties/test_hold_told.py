"""A hold resistor that a mend tells does what it should when it is typed in."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from hypothesis import event, given, settings
from hypothesis import strategies as st

import blockcheck

CASE = (Path(__file__).parent.parent / "rules" / "detection-not-held" / "bad-9.toml").read_text("utf-8")


def mends(text: str) -> list[str]:
    answer = blockcheck.check(blockcheck.loads(text, "case.toml"), date(2031, 6, 1))
    return [str(one.help) for one in answer.findings if one.rule == "detection-not-held"]


@settings(max_examples=settings().max_examples // 4)
@given(
    volts=st.sampled_from([9, 12, 14, 15, 18, 22]),
    micro=st.integers(100, 900),
    axle=st.sampled_from([4.7, 10, 15]),
    idle=st.integers(2, 200),
    hold=st.sampled_from(["", "10 ohm", "100 ohm", "100 kohm"]),
    side=st.sampled_from(["after-detector", "before-detector"]),
)
def test_the_resistor_that_a_mend_tells_holds(
    volts: int, micro: int, axle: float, idle: int, hold: str, side: str
) -> None:
    text = CASE.replace('voltage = "15 V"', f'voltage = "{volts} V"').replace('"0.6 mA"', f'"{micro} uA"')
    text = text.replace('axle = "15 kohm"', f'axle = "{axle} kohm"').replace('idle = "50 mA"', f'idle = "{idle} mA"')
    text = text.replace('detection = "held"', f'detection = "held"\nside = "{side}"')
    told = mends(text + f'hold = "{hold}"\n' if hold else text)
    values = [found[0] for one in told if (found := re.findall('hold = "[^"]*"', one))]
    event("told" if values else "none fits" if told else "right")
    for value in values:
        assert mends(f"{text}{value}\n") == []
