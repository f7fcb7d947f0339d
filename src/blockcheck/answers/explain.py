"""What a rule holds, why, and how to mend it; what a key of the language means, and a word of the trade."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from attrs import frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.document import Brief, Document, Facts, Listing, Part, Rank, Says, Section, Terms
from blockcheck.answers.explaining.words import TableWords, WordAnswer, table_words, word_named, words
from blockcheck.answers.tables import Column, Table, in_words
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import capital, cut_short
from blockcheck.model.schema import layout_schema
from blockcheck.rules import RULES, Example, Rule, example_of, rule_named
from blockcheck.text.document import STOCK

Schema = dict[str, Any]
_LEAD = (
    "Each rule holds one thing of a well-wired layout. Its severity may be set under [rules], or the rule switched "
    "off; a single finding is accepted under [[accept]], with a reason. A rule that lacks its data is not made, and "
    "the answer says so."
)
_KEY = "Key of the layout language"
_WORDS = '"blockcheck explain near" tells one; "blockcheck explain stock:" what ships with blockcheck.'
_KEYS = '"blockcheck explain blocks" tells the keys of one, "blockcheck explain blocks.length" a key.'


@frozen
class RuleAnswer(Answer):
    """One rule, in words. ``example`` is None where it was not asked for."""

    command = "explain"

    rule: str = column("Name of the rule.")
    family: str = column("The family that it belongs to.")
    severity: str = column("Default severity.", choices=("error", "warning", "note"))
    sentence: str = column("What holds.")
    why: str = column("Why it matters.")
    mend: str = column("How to mend it.")
    needs: tuple[str, ...] = column("The data without which it cannot be applied.")
    example: Example | None = column(
        "A layout that breaks it and one that keeps it; null where they were not asked for.", default=None
    )

    def document(self) -> Document:
        """The rule alone."""
        return Document(self.title, "", tuple(self.parts()), head=f"{self.title}  {self.aside}", kind="Rule")

    @property
    def title(self) -> str:
        """Its name in words."""
        return capital(in_words(self.rule))

    @property
    def aside(self) -> str:
        """What stands beside its title."""
        return f"({self.rule}: {self.severity}, {self.family})"

    def parts(self) -> Iterator[Part]:
        """What holds, why, how to mend it; and where it is asked for a layout that breaks it, and one that does not."""
        yield Rank(self.severity, self.family, self.rule)
        needs = [("Needs", self.needs)] if self.needs else []
        yield Facts([("", self.sentence), ("Why", self.why), ("Mend", self.mend), *needs])
        if self.example is not None:
            yield Facts([("Breaks it", self.example.says)])
            yield Listing(self.example.failing, self.example.passing)
            yield Facts([("Keeps it", "")])
            yield Listing(self.example.passing, self.example.failing)


@frozen
class Reference(Answer):
    """All rules in their order, and the names of all tables. ``at_length``: its text tells every rule whole."""

    command = "explain"

    rules: tuple[RuleAnswer, ...]
    tables: tuple[str, ...]
    at_length: bool

    def document(self) -> Document:
        """Pages have a list and every rule at length, by family; plain text has one of the two."""
        families = [(one, self._family(one)) for one in dict.fromkeys(rule.family for rule in self.rules)]
        whole = [Section(family.capitalize(), [_section(rule, 3) for rule in rules]) for family, rules in families]
        lists = [
            Table(
                "",
                (Column(family, links=True, coded=True), "severity", "holds that"),
                [(one.rule, one.severity, one.sentence) for one in rules],
            )
            for family, rules in families
        ]
        text = [_section(rule, 2) for rule in self.rules] if self.at_length else [self._terms(families)]
        return Document(
            "The rules of blockcheck", "", (Brief([Says((_LEAD,)), *lists, *whole], text),), head="", kind="Reference"
        )

    def _family(self, family: str) -> list[RuleAnswer]:
        return [rule for rule in self.rules if rule.family == family]

    def _terms(self, families: Iterable[tuple[str, list[RuleAnswer]]]) -> Terms:
        """All rules, a line each, and the names of the tables of the language."""
        groups = [
            (family, tuple((one.rule, one.severity, one.sentence) for one in rules)) for family, rules in families
        ]
        written = ", ".join(self.tables), _KEYS
        trade = ", ".join(one.replace("-", " ") for one in words()), _WORDS
        heads = ("What a layout is written with", written), ("Words of the trade", trade)
        return Terms((*groups, *((head, tuple((one,) for one in told)) for head, told in heads)))


@frozen
class InnerKey:
    """A key inside another, and what it means."""

    key: str = column("The key.")
    description: str = column("What it means.")


@frozen
class KeyAnswer(Answer):
    """One key of the layout language, in words, with the keys inside it. ``kind`` says what is written there."""

    command = "explain"

    key: str = column("The key, with dots between tables.")
    description: str = column("What it means.")
    kind: str = column("What is written there; empty for the whole.")
    choices: tuple[str, ...] = column("The words that it may be; none where it is free.")
    keys: tuple[InnerKey, ...] = column("The keys inside it.")
    words: str = column("Of a table, what it is in the words of the trade; empty for other keys.", default="")
    picture: str = column("A small picture in text; empty where there is none.", default="")
    lines: str = column("Lines to copy; empty where there are none.", default="")

    def document(self) -> Document:
        """What it means, what is written there, lines to copy, and the keys inside it."""
        choices = ", ".join(f'"{choice}"' for choice in self.choices)
        told = [
            self.description,
            self.words,
            f"Written as {self.kind}." if self.kind and not self.lines else "",
            f"One of {choices}." if choices else "",
        ]
        rows = [(one.key, one.description) for one in self.keys]
        parts: list[Part] = [Facts([("", one) for one in told if one])]
        parts += [Listing(self.picture, self.picture, code="")] if self.picture else []
        parts += [Facts([("Lines to copy", "")]), Listing(self.lines, self.lines)] if self.lines else []
        inside = (
            [Brief([Table("", (Column("key", verbatim=True), "meaning"), rows)], [Terms((("", tuple(rows)),))])]
            if rows
            else []
        )
        return Document(self.title, "", (*parts, *inside), head=self.head, kind=f"{_KEY}: {self.key}")

    @property
    def title(self) -> str:
        """The key in words: the feeder spacing of harnesses."""
        return capital(" of ".join(in_words(step) for step in reversed(self.key.split("."))))

    @property
    def head(self) -> str:
        """Its title, with the key behind it where it is written otherwise."""
        return self.title if self.title.casefold() == self.key else f"{self.title}  ({self.key})"


@frozen
class Explained:
    """What ``explain`` has as JSON: rules, a key, or a word."""

    rules: tuple[RuleAnswer, ...] = column("Rules.")
    keys: tuple[KeyAnswer, ...] = column("Keys of the layout language.")
    words: tuple[WordAnswer, ...] = column("Words of the trade.")


Told = RuleAnswer | KeyAnswer | WordAnswer


def explained(answer: Reference | Told) -> Explained:
    """An answer as its schema has it."""
    if isinstance(answer, KeyAnswer):
        return Explained((), (answer,), ())
    if isinstance(answer, WordAnswer):
        return Explained((), (), (answer,))
    return Explained(answer.rules if isinstance(answer, Reference) else (answer,), (), ())


def _section(rule: RuleAnswer, level: int) -> Section:
    """A rule as one of many."""
    return Section(rule.title, tuple(rule.parts()), level, aside=rule.aside, linked=True)


def explain_all(examples: bool = False) -> tuple[RuleAnswer, ...]:
    """All rules, in their order; with their examples if those are wanted."""
    return tuple(_rule(rule, examples) for rule in RULES)


def asked(name: str | None, every: bool) -> Reference | Told:
    """What is asked for by a name, or all rules and tables, those at length for ``every``. Raises CallError."""
    if name is None:
        return Reference(explain_all(examples=True), tuple(tables()), every)
    if every:
        raise CallError("all rules are explained without a name", f"leave out {shown(name)}, or what asks for all")
    return explain(name)


def explain(name: str) -> Told:
    """A rule by its name, a key of the language such as ``blocks.length``, or a word. Raises CallError for another.

    A name may stand where the file has one, and a number in a list: ``blocks.S4.length``, ``joints.0.gap``. Rules and
    keys may be written in words, ``gap missing``, and a key that one table alone has without that.
    """
    words_ = name.casefold().split()
    rule = rule_named(name) or rule_named("-".join(words_))
    if rule is not None:
        return _rule(rule, examples=True)
    answer = _key(name) or _key("_".join(words_))
    if answer is not None:
        return answer
    word = word_named(name)
    if word is not None:
        return word
    homes = [key for key in _key_names() if key.endswith(f".{'_'.join(words_)}")] if words_ else []
    if len(homes) == 1:
        return explain(homes[0])
    if homes:
        help_ = f"it is a key inside others: {cut_short(homes, 8)}"
    else:
        help_ = did_you_mean(name, names()) or _nearest_inside(name) or 'see "blockcheck explain"'
    raise CallError(f"{shown(name)} is no rule, no key of the language and no word that is explained", help_)


def names() -> list[str]:
    """All that can be explained: the rules, then the keys, then the words of the trade."""
    return [*(rule.name for rule in RULES), *_key_names(), *words(), STOCK]


def tables() -> list[str]:
    """The tables of the language, in its order."""
    return [key for key in _key_names() if "." not in key]


def _rule(rule: Rule, examples: bool) -> RuleAnswer:
    example = example_of(rule.name) if examples else None
    return RuleAnswer(
        rule.name, rule.family, rule.severity.value, rule.sentence, rule.why, rule.mend, rule.needs, example
    )


def _table(schema: Schema) -> Schema:
    """The schema of the table itself, for one of many tables of that kind."""
    inner = schema.get("additionalProperties") or schema.get("items") or {}
    return inner if "properties" not in schema and isinstance(inner, dict) else schema


def _inner(schema: Schema) -> Schema:
    """The keys inside a table, a table of named tables, or a list of tables."""
    return dict(_table(schema).get("properties", {}))


def _key(name: str) -> KeyAnswer | None:
    """What a key means. A step that names one of many tables of a kind, or counts them, is passed over."""
    schema: Schema = layout_schema()
    steps = name.split(".")
    told: list[str] = []
    many = False
    for index, step in enumerate(steps):
        inside = _inner(schema)
        if step in inside:
            schema, many = inside[step], _table(inside[step]) is not inside[step]
            told.append(step)
        elif many and index + 1 < len(steps):
            many = False
        else:
            return None
    keys = tuple(InnerKey(key, str(one.get("description", ""))) for key, one in _inner(schema).items())
    choices = tuple(schema.get("enum", ())) or tuple(_table(schema).get("enum", ()))
    key = ".".join(told)
    told_of = table_words().get(key) or TableWords("", "")
    return KeyAnswer(
        *(key, str(schema.get("description", "")), _kind(schema), choices, keys),
        *(told_of.words, told_of.picture, told_of.lines),
    )


def _kind(schema: Schema) -> str:
    """What is written at a key, in a few words."""
    if schema.get("format") == "date":
        return "a date, such as 2031-12-31"
    inner = schema.get("additionalProperties")
    if isinstance(inner, dict):
        return (
            "a table of tables, each with a name"
            if "properties" in inner
            else f"a table of names, each with {_kind(inner)}"
        )
    kinds = schema.get("type")
    kinds = kinds if isinstance(kinds, list) else [kinds]
    inside = {"string"} if kinds == ["array", "string"] else set()  # one of them may stand without its list
    told = [_KINDS[kind](schema) for kind in kinds if kind in _KINDS and kind not in inside]
    return " or ".join([*told, *(["one of them alone"] if inside and "minItems" not in schema else [])])


def _whole(schema: Schema) -> str:
    least = schema.get("minimum")
    return f"a whole number, {least} or more" if least is not None else "a whole number"


def _list(schema: Schema) -> str:
    inner = schema.get("items", {})
    few = f"{schema['minItems']} " if "minItems" in schema else ""
    return f"a list of {few}tables" if "properties" in inner else f"a list of {few}items, each {_kind(inner)}"


_KINDS: dict[str, Callable[[Schema], str]] = {
    "string": lambda schema: "one of the words below" if "enum" in schema else "text",
    "integer": _whole,
    "number": lambda _: "a number",
    "boolean": lambda _: "true or false",
    "array": _list,
    "object": lambda _: "a table",
}


def _key_names() -> list[str]:
    return list(_walk(layout_schema(), ""))


def _walk(schema: Schema, before: str) -> Iterator[str]:
    for key, inner in _inner(schema).items():
        yield before + key
        yield from _walk(inner, f"{before}{key}.")


def _nearest_inside(name: str) -> str | None:
    """Did you mean, with the steps that name one of many tables passed over."""
    first, _, rest = name.partition(".")
    last = rest.rpartition(".")[2]
    return did_you_mean(f"{first}.{last}", _key_names()) if last else None
