"""Answers as TOML; what is not known is left out."""

from __future__ import annotations

from typing import Any

from blockcheck.answers.columns import to_dict
from blockcheck.formats.escape import for_toml
from blockcheck.formats.marks import SIGNATURE


def answer_toml(answer: object) -> str:
    """An answer whose JSON is objects and lists of them."""
    import tomli_w

    return f"# {SIGNATURE}\n{for_toml(tomli_w.dumps({'format': 1, **_known(to_dict(answer))}))}"


def _known(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _known(one) for key, one in value.items() if one is not None}
    return [_known(one) for one in value] if isinstance(value, list) else value
