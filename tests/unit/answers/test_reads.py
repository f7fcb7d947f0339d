"""What a train reads in the answer of ``isolate``: by the current that it draws, and unknown where nothing can tell."""

from __future__ import annotations

import json

from jsonschema import Draft7Validator

from blockcheck import api
from blockcheck.formats.programs.json_v1 import answer_json
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text
from blockcheck.text.includes import shipped

YARD = """
format = 1
layout = { name = "Smew Wharf", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A" }
districts.yard = { booster = "B1", feed = { wire = "1.5 mm2", length = "2 m" } }
board_types.four = { channels = 4, threshold = "0.5 mA" }
boards.D1 = { type = "four" }
loads.pug = { locomotive = true, idle = "90 mA" }
loads.wagon = { axle = "10 kohm" }
loads.van = {}
trains.coal = { vehicles = { pug = 1 }, at = "S1" }
trains.grain = { vehicles = { wagon = 1 }, at = "S2" }
trains.mail = { vehicles = { van = 1 }, at = "S3" }
trains.milk = { vehicles = { pug = 1 }, at = "dock" }
harnesses.h = { bus = "1.5 mm2", common = "1.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.1 m", \
feeder_spacing = "2 m", rail = "code83" }
isolators.I1-I4 = { detection = "held", hold = "10 kohm" }
blocks.S1-S4 = { channel = "D1.1-4", isolator = "I1-I4", length = "2 m", harness = "h" }
blocks.dock = { undetected = "a short dock", district = "yard", length = "1 m", harness = "h" }
"""


def test_what_trains_read() -> None:
    """Behind 10 kohm coal sleeps and draws nothing; grain draws 15 V / 20 kohm = 0.75 mA. Of mail nobody knows an
    axle, and milk's dock has no detector."""
    answer = api.isolate(api.loads(YARD, "smew.toml"), "S1-S4")
    assert {one.train: one.reads for one in answer.trains} == {
        "coal": "clear",
        "grain": "occupied",
        "mail": "unknown",
        "milk": "unknown",
    }
    Draft7Validator(json.loads((shipped("schemas") / "isolate.schema.json").read_text("utf-8"))).validate(
        json.loads(answer_json(answer))
    )
    text = document_text(answer.document(), Style(200))
    assert "Train coal in S1 loses its power and reads clear." in text
    assert "Train mail in S3 loses its power; whether it still reads is not known for want of data." in text


def test_a_train_awake_reads_by_what_it_draws() -> None:
    answer = api.isolate(api.loads(YARD, "smew.toml"), "S4")
    assert {one.train: one.reads for one in answer.trains}["coal"] == "occupied"
