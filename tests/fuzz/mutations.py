"""Changes one thing of the source and asks the tests whether they see it: a test suite's own test.

``python -m tests.fuzz.mutations [COUNT] [--seed N] [--room ROOM ...] [--only FILE:LINE] [--reached FILE]`` mutates a
copy of the repository, never this one: a comparison, an operator, a number, a condition, a call, what is given back.
First all tests but those in a browser run once, with a record of which test reaches which line and how long it takes
(``--reached`` keeps it, or takes it from there). Each mutation is then held against the tests that reach its line, the
quickest first, as many as `--most` seconds allow, until one fails or takes four times as long and a minute more. It
prints what was killed, and the lines of what was not, with the number of tests that passed.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import coverage
import hypothesis
import networkx as nx
import numpy as np
import pytest
import scipy.sparse.linalg
import typer

READY = (hypothesis, nx, np, scipy.sparse.linalg, typer)  # what tests import, had before the first
STOPPED = "never came to an end"
UNASKED = ("-W", "ignore::pytest.PytestAssertRewriteWarning")  # hypothesis is there before pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCE = Path("src/blockcheck")
KEPT = ("src", "tests", "examples", "schemas", "shared", "pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
ROOMS = {
    "circuit": ("circuit/*.py",),
    "solver": ("solver/*.py",),
    "isolation": ("analysis/isolation/*.py",),
    "budgets": ("analysis/budgets/*.py",),
    "bench": ("analysis/bench/*.py",),
    "positions": ("text/syntax.py", "text/*spot*.py", "core/*place*.py"),
}
"""Room -> where it lies."""
APART = (
    "test_page*",
    "test_live*",
    "test_served*",
    "test_*browser*",
    "test_printed*",
    "test_benchmarks*",
    "test_never*",
)
"""The tests of these files are not asked: they look at pictures, take long, or go by chance."""
SWAPS: dict[type[ast.AST], str] = {
    ast.Lt: "<=",
    ast.LtE: "<",
    ast.Gt: ">=",
    ast.GtE: ">",
    ast.Eq: "!=",
    ast.NotEq: "==",
    ast.Is: "is not",
    ast.IsNot: "is",
    ast.In: "not in",
    ast.NotIn: "in",
    ast.And: "or",
    ast.Or: "and",
    ast.Add: "-",
    ast.Sub: "+",
    ast.Mult: "/",
    ast.Div: "*",
    ast.FloorDiv: "/",
    ast.Mod: "*",
    ast.Pow: "*",
    ast.BitOr: "&",
    ast.BitAnd: "|",
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "True": "False", "False": "True"}


class Mutation(NamedTuple):
    """One change: a file's text from one place to another, as offsets of bytes, and what stands there instead."""

    room: str
    path: Path
    line: int
    start: int
    end: int
    instead: str
    was: str

    def __str__(self) -> str:
        was, now = " ".join(self.was.split())[:60], " ".join(self.instead.split())[:60]
        return f"{self.room} {self.place} {was!r} -> {now!r}"

    @property
    def place(self) -> str:
        """Its file and line."""
        return f"{self.path.relative_to(SOURCE)}:{self.line}"

    def applied(self, root: Path) -> str:
        """The file with the change; what it was comes back."""
        text = (root / self.path).read_bytes()
        (root / self.path).write_bytes(text[: self.start] + self.instead.encode() + text[self.end :])
        return text.decode()


class Reached(NamedTuple):
    """The seconds of each test, and the tests that reach each line of a file."""

    seconds: dict[str, float]
    lines: dict[str, list[str]]

    def tests(self, mutation: Mutation, most: float) -> tuple[list[str], float]:
        """The tests that reach a mutation, the quickest first, as many as so many seconds allow; and their seconds.

        What runs once, while modules are imported, is reached by all tests of its file.
        """
        file = f"{mutation.path}:"
        here = set(self.lines.get(f"{file}{mutation.line}", ()))
        if not here:
            here = {test for line, tests in self.lines.items() if line.startswith(file) for test in tests}
        found, total = list[str](), 0.0
        for test in sorted(here, key=lambda test: (self.seconds[test], test)):
            if found and total + self.seconds[test] > most:
                break
            found.append(test)
            total += self.seconds[test]
        return found, total


class _Finder(ast.NodeVisitor):
    """All changes of one file."""

    def __init__(self, room: str, path: Path, text: bytes) -> None:
        self.room, self.path, self.text = room, path, text
        self.lines = [0]
        for line in text.splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(line))
        self.found: list[Mutation] = []

    def at(self, line: int, column: int) -> int:
        return self.lines[line - 1] + column

    def span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        return self.at(node.lineno, node.col_offset), self.at(node.end_lineno or 0, node.end_col_offset or 0)

    def change(self, node: ast.expr | ast.stmt, instead: str, span: tuple[int, int] | None = None) -> None:
        start, end = span or self.span(node)
        was = self.text[start:end].decode()
        self.found.append(Mutation(self.room, self.path, node.lineno, start, end, instead, was))

    def between(self, left: ast.expr, right: ast.expr, instead: str) -> None:
        """What joins two operands; brackets round either stay."""
        start, end = self.span(left)[1], self.span(right)[0]
        was = self.text[start:end].decode()
        word = was.strip(" ()\n")
        if "#" not in was and word and "(" not in word and ")" not in word:
            at = start + was.index(word)
            self.change(left, instead, (at, at + len(word)))

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        # neither annotations nor decorators; defaults are values
        for one in [*node.args.defaults, *filter(None, node.args.kw_defaults), *node.body]:
            self.visit(one)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None and isinstance(node.value, ast.expr):
            self.visit(node.value)

    def visit_If(self, node: ast.If) -> None:
        if ast.unparse(node.test) == "TYPE_CHECKING":
            return
        self.change(node.test, f"(not ({ast.unparse(node.test)}))")
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self.change(node.test, f"(not ({ast.unparse(node.test)}))")
        self.generic_visit(node)

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self.change(test, "True")
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for left, how, right in zip([node.left, *node.comparators], node.ops, node.comparators, strict=False):
            self.between(left, right, SWAPS[type(how)])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        self.between(node.values[0], node.values[1], SWAPS[type(node.op)])
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if type(node.op) in SWAPS:
            self.between(node.left, node.right, SWAPS[type(node.op)])
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not | ast.USub):
            self.change(node, f"({ast.unparse(node.operand)})")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            self.change(node, str(not node.value))
        elif isinstance(node.value, int | float):
            self.change(node, repr(node.value + 1))

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in NAMES:
            self.change(node, NAMES[node.id])

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None and not isinstance(node.value, ast.Constant):
            self.change(node.value, "None")
        self.generic_visit(node)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self.change(node, "pass")
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self.change(node, "pass")
        self.generic_visit(node)

    def visit_Continue(self, node: ast.Continue) -> None:
        self.change(node, "break")

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        # words are the snapshots' matter, and positions within them are not to be had in all Pythons
        del node

    def visit_Raise(self, node: ast.Raise) -> None:
        del node


def mutations(room: str) -> Iterator[Mutation]:
    """All changes of a room."""
    for pattern in ROOMS[room]:
        for path in sorted((ROOT / SOURCE).glob(pattern)):
            finder = _Finder(room, path.relative_to(ROOT), path.read_bytes())
            finder.visit(ast.parse(finder.text))
            yield from finder.found


def chosen(rooms: list[str], count: int, seed: int) -> list[Mutation]:
    """So many of each room as of the others, by chance, in an order that goes round."""
    chance = random.Random(seed)
    each = [chance.sample(list(mutations(room)), -(-count // len(rooms))) for room in rooms]
    return [one for turn in zip(*each, strict=True) for one in turn][:count]


def reached(copy: Path) -> Reached:
    """Which tests reach which lines of the rooms, by running them once."""
    settings, told, data = copy / "reached.rc", copy / "reached.xml", copy / "reached.data"
    include = "".join(f"\n    {copy / SOURCE / pattern}" for patterns in ROOMS.values() for pattern in patterns)
    settings.write_text(
        "[run]\nparallel = true\npatch = subprocess\ndynamic_context = test_function\n"
        f"data_file = {data}\ninclude ={include}\n",
        "utf-8",
    )
    apart = [f"--ignore-glob=**/{one}.py" for one in APART]
    words = ["-n", "2", "-q", "-p", "no:cacheprovider", f"--junitxml={told}", *apart]
    run = [sys.executable, "-m", "coverage", "run", f"--rcfile={settings}", "-m", "pytest", *words]
    subprocess.run(run, cwd=copy, env={**os.environ, "PYTHONPATH": str(copy / "src")}, check=False)
    files = {path.stem: path.relative_to(copy) for path in (copy / "tests").rglob("test_*.py")}
    seconds: dict[str, float] = {}
    failed = set()
    for case in ElementTree.parse(told).iter("testcase"):
        name = _node(f"{case.get('classname')}.{str(case.get('name')).partition('[')[0]}", files)
        seconds[name] = seconds.get(name, 0.0) + float(case.get("time") or 0)
        if any(one.tag in ("failure", "error") for one in case):
            failed.add(name)
    lines: dict[str, set[str]] = {}
    for part in copy.glob("reached.data*"):
        base = coverage.CoverageData(str(part))
        base.read()
        for path in base.measured_files():
            for line, contexts in base.contexts_by_lineno(path).items():
                tests = {_node(one, files) for one in contexts if one} & seconds.keys() - failed
                lines.setdefault(f"{Path(path).relative_to(copy)}:{line}", set()).update(tests)
    return Reached(seconds, {line: sorted(tests) for line, tests in lines.items()})


def _node(name: str, files: dict[str, Path]) -> str:
    """A test's dotted name as pytest takes it."""
    module, _, test = name.rpartition(".")
    return f"{files.get(module.rpartition('.')[2], module)}::{test}"


def tried(mutation: Mutation, copy: Path, tests: list[str], most: float) -> str:
    """The first test that fails, or that it never came to an end; "" where all pass."""
    was = mutation.applied(copy)
    out = copy / "told.txt"
    try:
        # a child has the libraries imported already, which is most of what a test that fails at once takes
        child = os.fork()
        if not child:
            os.setpgid(0, 0)
            _tested(tests, copy, out)
        end = time.monotonic() + most
        while os.waitpid(child, os.WNOHANG) == (0, 0):
            if time.monotonic() > end:
                os.killpg(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return STOPPED
            time.sleep(0.1)
    finally:
        (copy / mutation.path).write_text(was, "utf-8")
    told = out.read_text("utf-8").splitlines()
    failed = [line for line in told if line.startswith(("FAILED", "ERROR"))]
    if not failed and told[-1:] != ["status 0"]:
        raise SystemExit(f"the tests did not run: {told[-3:]}")
    return failed[0][:110] if failed else ""


def _tested(tests: list[str], copy: Path, out: Path) -> None:
    """Run tests in this process, which ends with it."""
    try:
        with out.open("w", encoding="utf-8") as file:
            os.dup2(file.fileno(), 1)
            os.dup2(file.fileno(), 2)
        os.chdir(copy)
        os.environ["PYTHONPATH"] = str(copy / "src")
        sys.dont_write_bytecode = True
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "blockcheck")]:
            del sys.modules[name]
        sys.path[:0] = [str(copy / "src"), str(copy)]
        words = ["-x", "-q", "--tb=no", "-p", "no:cacheprovider", *UNASKED, *tests]
        print(f"status {int(pytest.main(words))}", flush=True)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(0)


def main(arguments: list[str]) -> None:
    """Print what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.mutations")
    parser.add_argument("count", nargs="?", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room", action="append", choices=sorted(ROOMS))
    parser.add_argument("--only", action="append", metavar="FILE:LINE", help="the changes of one line")
    parser.add_argument("--most", type=float, default=60, help="seconds of tests for one mutation")
    parser.add_argument("--reached", type=Path, help="where the record of which test reaches what is kept")
    given = parser.parse_args(arguments)
    rooms = given.room or list(ROOMS)
    if given.only:
        todo = [one for room in rooms for one in mutations(room) if one.place in given.only]
    else:
        todo = chosen(rooms, given.count, given.seed)
    killed = 0
    with tempfile.TemporaryDirectory() as made:
        copy = Path(made)
        for name in KEPT:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            elif (ROOT / name).exists():
                shutil.copy(ROOT / name, copy / name)
        if given.reached is not None and given.reached.exists():
            record = Reached(*json.loads(given.reached.read_text("utf-8")))
        else:
            record = reached(copy)
            if given.reached is not None:
                given.reached.write_text(json.dumps(record), "utf-8")
        for number, one in enumerate(todo, 1):
            start = time.monotonic()
            tests, seconds = record.tests(one, given.most)
            by = tried(one, copy, tests, 60 + 4 * seconds) if tests else ""
            killed += bool(by)
            took = time.monotonic() - start
            print(f"{number:3} {took:4.0f} s {'killed' if by else 'LIVES':6} {one}  {by or len(tests)}", flush=True)
    print(f"{killed} of {len(todo)} killed")


if __name__ == "__main__":
    main(sys.argv[1:])
