"""Answers as JSON, version 1. Its own type, not a dump of the model: ``schemas/`` describes it."""

from __future__ import annotations

import json
from typing import Any

from blockcheck.answers.columns import to_dict
from blockcheck.formats.escape import for_json
from blockcheck.formats.marks import GENERATOR

Json = dict[str, Any]


def dumps(value: Json) -> str:
    """JSON text as it is written everywhere: indented, in UTF-8, with a newline at its end."""
    return json_text({"format": 1, "generator": GENERATOR, **value})


def json_text(value: Json) -> str:
    """As ``dumps``, of what has its format said otherwise."""
    return for_json(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)) + "\n"


def answer_json(answer: object) -> str:
    """An answer as its schema has it."""
    return dumps(to_dict(answer))
