"""What a field says once: key, quantity and unit, in JSON, in the schema and in a table."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from attrs import frozen
from jsonschema import Draft7Validator

from blockcheck.answers.columns import schema_of, table, to_dict
from blockcheck.core.columns import column
from blockcheck.model.keys import Count
from blockcheck.model.layout import ChannelRef


@frozen
class Row:
    label: str = column("How it is written.", only="people")
    name: str = column("Name.", only="programs")
    channel: ChannelRef = column("Its channel.")
    count: Count = column("How many.")
    length_m: float | None = column("Length.")
    drawn_a: float = column("What it draws.", title="draws")
    power: Literal["on", "off"] | None = column("Its power.")
    with_: tuple[str, ...] = column("Its neighbours.", key="with")
    ready: bool = column("Whether it is ready.")


@frozen
class Answer:
    layout: str
    rows: tuple[Row, ...] = column("All rows.")
    first: Row | None = column("The first one.")
    state: Mapping[str, str] = column("Positions.")


ROW = Row("a.1", "a", ChannelRef("D1", 3), Count(3), 1.5, 0.25, None, ("b", "c"), True)
ANSWER = Answer("Yard", (ROW,), None, {"I1": "open"})


def test_json_has_what_is_a_column_and_not_for_people_alone() -> None:
    row = {
        "name": "a",
        "channel": "D1.3",
        "count": 3,
        "length": 1.5,
        "drawn": 0.25,
        "power": None,
        "with": ["b", "c"],
        "ready": True,
    }
    assert to_dict(ANSWER) == {"rows": [row], "first": None, "state": {"I1": "open"}}
    assert list(to_dict(ROW)) == list(row)


def test_the_schema_describes_the_json() -> None:
    schema = schema_of(Answer, "look")
    Draft7Validator.check_schema(schema)
    Draft7Validator(schema).validate({"format": 1, "generator": "blockcheck", **to_dict(ANSWER)})
    row = schema["properties"]["rows"]["items"]["properties"]
    assert row["length"] == {"description": "Length, in metres.", "type": ["number", "null"]}
    assert row["count"] == {"description": "How many.", "type": "integer", "minimum": 1}
    assert row["power"] == {"description": "Its power.", "enum": ["on", "off", None]}
    assert schema["properties"]["first"]["type"] == ["object", "null"]
    wrong = {"format": 1, "generator": "blockcheck", **to_dict(ANSWER), "rows": [{**to_dict(ROW), "drawn": "much"}]}
    assert [error.path[-1] for error in Draft7Validator(schema).iter_errors(wrong)] == ["drawn"]


def test_a_table_has_the_columns_with_their_quantities() -> None:
    made = table("Rows", Row, [ROW, {"label": "b.1", "length_m": 2.0}])
    assert list(made.shown()) == [
        ["a.1", "D1.3", "3", "1.5 m", "250 mA", "b, c", "yes"],
        ["b.1", "", "", "2 m", "", "", ""],
    ]
    programs = made.for_programs()
    assert [one.key for one in programs.headers] == [
        "name",
        "channel",
        "count",
        "length",
        "drawn",
        "power",
        "with",
        "ready",
    ]
    assert programs.rows[0] == ("a", "D1.3", 3, 1.5, 0.25, None, "b, c", "yes")
