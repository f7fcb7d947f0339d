"""The library as a stranger meets it: what it offers, how that is documented and typed, and what it says when wrong."""

from __future__ import annotations

import ast
import inspect
import pydoc
import subprocess
import sys
import typing
from importlib import import_module
from importlib.metadata import entry_points
from importlib.util import find_spec
from pathlib import Path
from types import ModuleType
from typing import Any

import attrs
import pytest

import blockcheck
from blockcheck import types
from blockcheck.cli import app

ROOT = Path(__file__).resolve().parents[2]
SMALL = ROOT / "examples" / "small-yard" / "yard.toml"
TEXT = 'format = 1\nlayout = { name = "Withy", control = "dcc" }\n'
COMMANDS = [name for name in app.COMMANDS if name != "lsp"]  # which answers an editor, and nobody else
FUNCTIONS = [*COMMANDS, "isolate_each", "isolate_state", "load", "loads", "render"]


def public(module: ModuleType) -> list[str]:
    """The names that a module says are for others; type checkers have them from its imports."""
    return list(vars(module)["__all__"])


NAMES = {name: getattr(types, name) for name in public(types)}
"""The types of the library."""


def typed_names(module: ModuleType) -> dict[str, str]:
    """Name -> the module that type checkers are told it is from."""
    tree = ast.parse(Path(str(module.__file__)).read_text("utf-8"))
    (told,) = [one for one in tree.body if isinstance(one, ast.If) and ast.unparse(one.test) == "TYPE_CHECKING"]
    names = {}
    for one in told.body:
        assert isinstance(one, ast.ImportFrom)
        for alias in one.names:
            assert alias.asname == alias.name, "without its own name behind as, a type checker does not pass it on"
            names[alias.name] = str(one.module)
    return names


@pytest.mark.parametrize("module", [blockcheck, types])
def test_type_checkers_are_told_what_there_is(module: ModuleType) -> None:
    told = typed_names(module)
    inside = {name for name, home in told.items() if home == module.__name__}
    assert sorted(told.keys() - inside) == public(module)
    for name, home in told.items():
        expected = import_module(f"{home}.{name}") if name in inside else getattr(import_module(home), name)
        assert getattr(module, name) is expected


def test_every_command_is_a_function_and_all_is_offered() -> None:
    assert {*FUNCTIONS, "BlockcheckError", "CallError", "InputError", "OutOfTimeError"} == set(public(blockcheck))
    for name in FUNCTIONS:
        assert inspect.isfunction(getattr(blockcheck, name)), name
    offered = [name for name in dir(blockcheck) if not name.startswith("_")]
    assert offered == sorted({*public(blockcheck), "types"})
    assert [name for name in dir(types) if not name.startswith("_")] == public(types)
    with pytest.raises(AttributeError, match="has no attribute 'chek'"):
        blockcheck.chek  # type: ignore[attr-defined]  # noqa: B018


def test_no_room_has_the_name_of_a_function() -> None:
    """Importing it would put the room in the function's place."""
    assert not [name for name in public(blockcheck) if name != "types" and find_spec(f"blockcheck.{name}")]


def test_its_version_is_that_of_the_package() -> None:
    (script, *_) = entry_points(group="console_scripts", name="blockcheck")
    assert script.dist is not None
    assert blockcheck.__version__ == script.dist.version


@pytest.mark.parametrize("module", [blockcheck, types])
def test_help_shows_every_name(module: ModuleType) -> None:
    told = pydoc.plain(pydoc.render_doc(module))
    for name in public(module):
        assert f"{name}(" in told or f"class {name}" in told, name


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_tells_its_types_and_its_errors(name: str) -> None:
    function = getattr(blockcheck, name)
    assert typing.get_type_hints(function).keys() == {*inspect.signature(function).parameters, "return"}
    assert "Raises" in str(function.__doc__) or name == "new"
    assert blockcheck.types.Study not in typing.get_type_hints(function).values() or "CallError" in function.__doc__


def own(cls: type) -> dict[str, Any]:
    """The public fields, properties and methods of a type: name -> what they are annotated with."""
    inside = WORKINGS.get(cls.__name__, set())
    hints = typing.get_type_hints(cls).items()
    found = {name: hint for name, hint in hints if not name.startswith("_") and name not in inside}
    for name, one in vars(cls).items():
        function = one.fget if isinstance(one, property) else getattr(one, "func", one)
        if not name.startswith("_") and name not in inside and inspect.isfunction(function):
            assert function.__doc__, f"{cls.__name__}.{name} is not documented"
            found[name] = typing.get_type_hints(function, vars(import_module(cls.__module__)) | NAMES)["return"]
    return found


WORKINGS = {
    "Column": {"quantity", "dimension"},
    "Finding": {"causes"},
    "Study": {"wiring", "circuit", "operations", "mended", "claims", "operation", "asked"}
    | {"usual", "now", "once", "always"},
    "Tolerance": {"of"},
}
"""What of a type is for the rooms inside, and of no type of the library."""


def classes(hint: Any) -> set[type]:
    """The classes of ours that an annotation names."""
    found = {hint} if isinstance(hint, type) and hint.__module__.startswith("blockcheck") else set[type]()
    return found.union(*map(classes, typing.get_args(hint)))


@pytest.mark.parametrize("name", public(types))
def test_a_type_is_documented_and_names_no_type_that_is_not_public(name: str) -> None:
    cls = getattr(types, name)
    assert cls.__name__ == name
    assert cls.__doc__
    assert not cls.__doc__.startswith(name + "(")
    for part, hint in own(cls).items():
        assert classes(hint) <= set(NAMES.values()), f"{name}.{part}"


@pytest.mark.parametrize("name", [name for name in public(types) if attrs.has(getattr(types, name))])
def test_a_type_is_frozen(name: str) -> None:
    assert getattr(types, name).__setattr__ is not object.__setattr__


def test_every_answer_names_its_command() -> None:
    answers = [cls for cls in NAMES.values() if issubclass(cls, types.Answer) and cls is not types.Answer]
    assert {cls.command for cls in answers} == set(COMMANDS)
    for command in COMMANDS:
        asked = [name for name in FUNCTIONS if name == command or name.startswith(f"{command}_")]
        hints = [typing.get_type_hints(getattr(blockcheck, name))["return"] for name in asked]
        returned = [cls for hint in hints for cls in classes(hint)]
        assert {cls.__name__ for cls in returned} == {cls.__name__ for cls in answers if cls.command == command}


def test_importing_it_imports_nothing_that_is_not_wanted() -> None:
    def imported(code: str) -> set[str]:
        call = [sys.executable, "-c", f"{code}; import sys; print(*sys.modules)"]
        done = subprocess.run(call, capture_output=True, text=True, check=True, timeout=60)
        return {name for name in done.stdout.split() if name.startswith(("blockcheck.", "attr", "typer", "numpy"))}

    few = ("answers", "answers.answer", "core", "core.lazy", "core.version")
    assert imported("import blockcheck") == {f"blockcheck.{one}" for one in few}
    made = imported(f"import blockcheck; blockcheck.channels(blockcheck.load({str(SMALL)!r}))")
    assert {name for name in made if name.startswith("blockcheck.answers.")} == {
        f"blockcheck.answers.{one}" for one in ("answer", "channels", "columns", "document", "tables")
    }
    assert not any(name.startswith(("numpy", "typer", "blockcheck.rules", "blockcheck.formats")) for name in made)


def test_text_and_bytes_are_read_alike(tmp_path: Path) -> None:
    path = tmp_path / "withy.toml"
    path.write_text(TEXT, "utf-8")
    studies = [
        blockcheck.loads(TEXT, path),
        blockcheck.loads(TEXT.encode(), str(path)),
        blockcheck.load(path),
        blockcheck.load(str(path)),
        blockcheck.load(path, data=TEXT),
        blockcheck.load(path, data=TEXT.encode()),
    ]
    assert {str(blockcheck.check(one)) for one in studies} == {str(blockcheck.check(studies[0]))}


def test_text_includes_what_lies_beside_its_name(tmp_path: Path) -> None:
    (tmp_path / "more.toml").write_text('boosters.B1 = { voltage = "14 V", current = "3 A" }\n', "utf-8")
    study = blockcheck.loads(TEXT.replace("format = 1\n", 'format = 1\ninclude = ["more.toml"]\n'), tmp_path / "a.toml")
    assert list(study.layout.boosters) == ["B1"]
    outside = TEXT.replace("format = 1\n", 'format = 1\ninclude = ["../more.toml"]\n')
    (tmp_path / "in").mkdir()
    with pytest.raises(blockcheck.InputError, match="outside"):
        blockcheck.loads(outside, tmp_path / "in" / "a.toml")
    assert blockcheck.loads(outside, tmp_path / "in" / "a.toml", allow_outside=True).layout.boosters


def test_half_a_character_is_told_at_its_place() -> None:
    with pytest.raises(blockcheck.InputError, match=r"layout\.toml:\d+:\d+: error: .*UTF-8"):
        blockcheck.loads(TEXT + '# "\ud800"\n')


@pytest.mark.parametrize(
    ("wrong", "message", "advice"),
    [
        (lambda: blockcheck.loads("yard.toml"), "was given a name", 'load("yard.toml")'),
        (lambda: blockcheck.load(TEXT), "was given text", "loads"),
        (lambda: blockcheck.load("no/yard.toml"), "no/yard.toml cannot be read", "blockcheck new"),
        (lambda: blockcheck.check("yard.toml"), "not a str", "blockcheck.load("),  # type: ignore[arg-type]
        (
            lambda: blockcheck.compare(blockcheck.loads(TEXT), blockcheck.loads(TEXT).layout),  # type: ignore[arg-type]
            "not a Layout",
            "blockcheck.load(",
        ),
        (lambda: blockcheck.render("# A page", "html"), "not a str", "a command answered"),  # type: ignore[call-overload]
        (lambda: blockcheck.render(blockcheck.new(), "html"), 'no format "html"', "it has text, json"),
        (lambda: blockcheck.render(blockcheck.new(), "jsn"), 'no format "jsn"', 'did you mean "json"?'),
        (lambda: blockcheck.render(blockcheck.new(), "text", hole="6 mm"), 'no option "hole"', "it takes none"),
        (
            lambda: blockcheck.render(blockcheck.check(blockcheck.loads(TEXT)), "junit", fail_no=None),  # type: ignore[call-overload]
            'no option "fail_no"',
            'did you mean "fail_on"?',
        ),
        (
            lambda: blockcheck.render(blockcheck.new(), "json", csv_dialect="semicolons"),
            'CSV dialect cannot be "semicolons"',
            "semicolon",
        ),
        (lambda: blockcheck.panel(blockcheck.load(SMALL), "25"), 'pitch cannot be "25"', '"25 mm"'),
        (lambda: blockcheck.panel(blockcheck.load(SMALL), 25), 'pitch cannot be "25"', '"25 mm"'),  # type: ignore[arg-type]
        (lambda: blockcheck.bench(blockcheck.load(SMALL), times=0), "times cannot be 0", "from 1 to 5"),
        (lambda: blockcheck.explain("gap-missing", every=True), "without a name", "leave out"),
        (lambda: blockcheck.isolate(blockcheck.load(SMALL), "9"), "there is no track 9", "the tracks are 1"),
        (
            lambda: blockcheck.check(blockcheck.loads(TEXT), baseline="check.json"),  # type: ignore[arg-type]
            "the baseline",
            "check --format json",
        ),
    ],
)
def test_a_call_that_is_wrong_says_what_to_write(wrong: Any, message: str, advice: str) -> None:
    with pytest.raises(blockcheck.CallError) as caught:
        wrong()
    assert message in str(caught.value)
    assert advice in str(caught.value.help)


@pytest.mark.parametrize("as_data", [False, True])
def test_what_an_earlier_answer_has_is_known(as_data: bool) -> None:
    faulty = blockcheck.load(ROOT / "examples" / "faulty-yard" / "yard.toml")
    earlier = blockcheck.check(faulty)
    assert len(earlier.new) == 5
    again = blockcheck.check(faulty, baseline=earlier.to_dict() if as_data else earlier)
    assert again.new == ()
    assert [one.known for one in again.findings] == [True] * 5
    assert again.gone == ()
    assert not again.fails(types.Severity.ERROR)
    assert earlier.fails(types.Severity.ERROR)
