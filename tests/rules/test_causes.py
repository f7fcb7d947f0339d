"""One cause gives one finding: what is told of it, and what is no consequence and is told beside it."""

from __future__ import annotations

from datetime import date

import blockcheck

TODAY = date(2031, 6, 1)
YARD = """format = 1
layout = { name = "Curlew Sands", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "1 A" }
districts.yard = { booster = "B1" }
board_types.plain = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "plain", spare = [1, 2, 3, 4, 5, 6, 7, 8] }
loads.pug = { locomotive = true, idle = "90 mA", length = "0.2 m" }
"""


def told(text: str) -> list[tuple[str, str, tuple[str, ...]]]:
    """Rule, subject and the other names of each finding; channels kept spare and used are no matter here."""
    answer = blockcheck.check(blockcheck.loads(YARD + text, "case.toml"), TODAY)
    return [(one.rule, one.subject, one.others) for one in answer.findings if one.rule != "channel-unused"]


TRAINS = """
trains.coal = {{ length = "2.5 m", vehicles = {{ pug = 1 }}, at = "S1" }}
trains.lime = {{ length = "{lime} m", vehicles = {{ pug = 1 }}, at = "S1" }}
trains.slate = {{ length = "1.1 m", vehicles = {{ pug = 1 }}, at = "S1" }}
blocks.S1 = {{ channel = "D1.1", length = "2 m" }}
"""


def test_a_train_that_is_too_long_is_not_counted_again() -> None:
    long = ("train-too-long", "coal", ("S1",))
    assert told(TRAINS.format(lime="0.9")) == [long]
    assert told(TRAINS.format(lime="1.0")) == [long, ("trains-do-not-fit", "S1", ("lime", "slate"))]


EXPIRED = """
[blocks.S1]
channel = "D1.1"
kind = "{kind}"

[[accept]]
rule = "storage-not-isolatable"
where = "S1"
because = "a shunter's shed"
until = 2031-05-31
"""


def test_an_exception_that_has_expired_asks_for_a_date_only_where_there_is_something_to_accept() -> None:
    def help_of(kind: str) -> list[str | None]:
        case = blockcheck.loads(YARD + EXPIRED.format(kind=kind), "case.toml")
        return [one.help for one in blockcheck.check(case, TODAY).findings if one.rule == "accept-expired"]

    assert help_of("storage") == ["mend what was accepted, or give it a new date"]
    assert help_of("running") == ["take this exception out: there is nothing left to accept"]
