"""Words of the trade that the language lacks are answered with what to do instead, and never with another key."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from blockcheck import api
from blockcheck.core.errors import InputError
from blockcheck.core.spans import Place
from blockcheck.model.not_described import NOT_DESCRIBED, not_described
from blockcheck.model.schema import layout_schema

PLAIN = 'format = 1\nlayout = { name = "Withy", control = "dcc" }\n'


def known(schema: Any) -> Iterator[str]:
    """Every key and table of the language."""
    if isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict):
            yield from schema["properties"]
        for inner in schema.values():
            yield from known(inner)


def help_of(text: str) -> str:
    with pytest.raises(InputError) as told:
        api.loads(PLAIN + text)
    (finding,) = told.value.findings
    assert isinstance(finding.at, Place)
    return str(finding.help)


@pytest.mark.parametrize("word", NOT_DESCRIBED)
def test_a_word_of_the_trade_is_answered_as_key_and_as_table(word: str) -> None:
    for text in (f'[blocks.S1]\n{word} = "a"\n', f"[{word}s.A]\n", f'[loads.shunter]\n{word}_current = "1 A"\n'):
        told = help_of(text)
        assert told == NOT_DESCRIBED[word]
        assert "not described" in told
        assert "did you mean" not in told


def test_no_key_of_the_language_is_called_not_described() -> None:
    assert not [name for name in set(known(layout_schema())) if not_described(name)]


@pytest.mark.parametrize(("slip", "meant"), [("lenght", "length"), ("chanel", "channel"), ("isolater", "isolator")])
def test_a_slip_of_the_pen_still_has_the_nearest_word(slip: str, meant: str) -> None:
    assert help_of(f'[blocks.S1]\n{slip} = "a"\n') == f'did you mean "{meant}"?'
