"""What a rule holds, why, and how to mend it; and what a key of the language means."""

from __future__ import annotations

from typing import Any

from attrs import frozen

from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.model.schema import layout_schema
from blockcheck.rules import RULES, Rule, rule_named


@frozen
class RuleAnswer:
    """One rule, in words."""

    rule: str
    family: str
    severity: str
    sentence: str
    why: str
    mend: str
    needs: tuple[str, ...]


@frozen
class KeyAnswer:
    """One key of the layout language, in words, with the keys inside it."""

    key: str
    description: str
    choices: tuple[str, ...]
    keys: tuple[tuple[str, str], ...]


def explain_all() -> tuple[RuleAnswer, ...]:
    """All rules, in their order."""
    return tuple(map(_rule, RULES))


def explain(name: str) -> RuleAnswer | KeyAnswer:
    """A rule by its name, or a key of the language such as ``blocks.length``. Raises CallError for an unknown one."""
    rule = rule_named(name)
    if rule is not None:
        return _rule(rule)
    answer = _key(name)
    if answer is not None:
        return answer
    known = [*(rule.name for rule in RULES), *_key_names()]
    raise CallError(
        f'"{name}" is no rule and no key of the language', did_you_mean(name, known) or 'see "blockcheck explain"'
    )


def _rule(rule: Rule) -> RuleAnswer:
    return RuleAnswer(rule.name, rule.family, rule.severity.value, rule.sentence, rule.why, rule.mend, rule.needs)


def _inner(schema: dict[str, Any]) -> dict[str, Any]:
    """The keys inside a table, a table of named tables, or a list of tables."""
    if "properties" in schema:
        return dict(schema["properties"])
    inner = schema.get("additionalProperties") or schema.get("items") or {}
    return dict(inner.get("properties", {})) if isinstance(inner, dict) else {}


def _key(name: str) -> KeyAnswer | None:
    schema: dict[str, Any] = layout_schema()
    for step in name.split("."):
        inside = _inner(schema)
        if step not in inside:
            return None
        schema = inside[step]
    keys = tuple((key, str(one.get("description", ""))) for key, one in _inner(schema).items())
    return KeyAnswer(name, str(schema.get("description", "")), tuple(schema.get("enum", ())), keys)


def _key_names() -> list[str]:
    top = _inner(layout_schema())
    return [*top, *(f"{table}.{key}" for table, schema in top.items() for key in _inner(schema))]
