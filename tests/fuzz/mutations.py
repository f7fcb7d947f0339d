"""Changes one thing of the source and asks the room's tests whether they see it: a test suite's own test.

``python -m tests.fuzz.mutations [COUNT] [--seed N] [--room ROOM ...] [--only FILE:LINE]`` mutates a copy of the
repository, never this one: a comparison, an operator, a number, a condition, a call, what is given back. Each mutation
is held against the tests of its room, cheapest first, until one fails. It prints what was killed, and the lines of what
was not; a run that takes longer than `--most` seconds is told as stopped, and is not counted as killed.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import hypothesis
import networkx as nx
import numpy as np
import pytest
import scipy.sparse.linalg
import typer

READY = (hypothesis, nx, np, scipy.sparse.linalg, typer)  # what tests import, had before the first
STOPPED = "stopped"
UNASKED = ("-W", "ignore::pytest.PytestAssertRewriteWarning")  # hypothesis is there before pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCE = Path("src/blockcheck")
KEPT = ("src", "tests", "examples", "schemas", "shared", "pyproject.toml", "README.md", "DEVELOPERS.md", "CHANGELOG.md")
USED = ["tests/rules/test_cases.py"]
LAST = ["tests/snapshots/test_snapshots.py", "tests/unit/test_examples.py"]
ROOMS: dict[str, tuple[tuple[str, ...], list[str]]] = {
    # room: where it lies, and its tests, cheapest first
    "circuit": (
        ("circuit/*.py",),
        [
            *("tests/unit/test_interlocks.py", "tests/unit/test_selectors.py", "tests/unit/test_series.py"),
            *("tests/unit/test_fed_through.py", "tests/unit/test_leads.py", "tests/unit/test_panels.py", *USED),
            *("tests/outside/test_across.py", "tests/outside/test_wire_list.py", "tests/properties/test_terminals.py"),
            *("tests/outside/test_parts_in_the_feed.py", "tests/properties/test_ladders.py"),
            *("tests/properties/test_reach.py", "tests/properties/test_reach_everywhere.py"),
            *("tests/properties/test_isolation.py", "tests/properties/test_reversing.py", *LAST),
            *("tests/properties/test_whatif.py", "tests/properties/test_large.py"),
        ],
    ),
    "solver": (
        ("solver/*.py",),
        [
            *("tests/outside/networks/test_textbook.py", "tests/outside/networks/test_closed_forms.py"),
            *("tests/outside/networks/test_drops.py", "tests/outside/networks/test_cells.py"),
            *("tests/outside/networks/test_backends.py", "tests/properties/test_physics.py", *USED),
            *("tests/properties/test_singles.py", "tests/outside/test_parts_in_the_feed.py", *LAST),
            *("tests/properties/test_large.py", "tests/properties/test_whatif.py", "tests/properties/test_ladders.py"),
        ],
    ),
    "isolation": (
        ("analysis/isolation/*.py",),
        [
            *(*USED, "tests/unit/test_series.py", "tests/properties/test_minimal_ways.py"),
            *("tests/properties/test_isolation.py", "tests/properties/test_whatif.py", *LAST),
            "tests/outside/test_page_in_hand.py",
        ],
    ),
    "budgets": (
        ("analysis/budgets/*.py",),
        [
            *("tests/unit/analysis/test_waking.py", "tests/unit/analysis/test_sleeping.py"),
            *("tests/outside/test_inrush.py", "tests/outside/test_charging.py", "tests/outside/test_held_awake.py"),
            *("tests/outside/test_axles_in_budgets.py", "tests/unit/answers/test_budget_room.py", *USED),
            *(*LAST, "tests/properties/test_breakers.py"),
        ],
    ),
    "bench": (
        ("analysis/bench/*.py",),
        [
            *("tests/unit/analysis/test_choose.py", "tests/unit/analysis/test_predict.py"),
            *("tests/unit/analysis/test_sheet.py", "tests/unit/answers/test_bench.py"),
            *("tests/unit/analysis/test_test_axle.py", "tests/unit/answers/test_slips_of_length.py"),
            *("tests/unit/analysis/test_second_model.py", "tests/outside/test_faults.py", *LAST),
            *("tests/unit/analysis/test_divided.py", "tests/unit/analysis/test_tracing.py"),
        ],
    ),
    "positions": (
        ("text/syntax.py", "text/*spot*.py", "core/*place*.py"),
        [
            *("tests/unit/text", "tests/unit/core", "tests/unit/test_malformed_syntax.py"),
            *("tests/unit/test_malformed_files.py", "tests/rules/test_cases.py", "tests/properties/test_positions.py"),
            "tests/unit/editor/test_broken_text.py",
        ],
    ),
}
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
        return f"{self.room} {self.path.relative_to(SOURCE)}:{self.line} {was!r} -> {now!r}"

    def applied(self, root: Path) -> str:
        """The file with the change; what it was comes back."""
        text = (root / self.path).read_bytes()
        (root / self.path).write_bytes(text[: self.start] + self.instead.encode() + text[self.end :])
        return text.decode()


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
    for pattern in ROOMS[room][0]:
        for path in sorted((ROOT / SOURCE).glob(pattern)):
            finder = _Finder(room, path.relative_to(ROOT), path.read_bytes())
            finder.visit(ast.parse(finder.text))
            yield from finder.found


def chosen(rooms: list[str], count: int, seed: int) -> list[Mutation]:
    """So many of each room as of the others, by chance, in an order that goes round."""
    chance = random.Random(seed)
    each = [chance.sample(list(mutations(room)), -(-count // len(rooms))) for room in rooms]
    return [one for turn in zip(*each, strict=True) for one in turn][:count]


def tried(mutation: Mutation, copy: Path, most: float) -> str:
    """The first test that fails, "" where none does, or that it was stopped."""
    was = mutation.applied(copy)
    out = copy / "told.txt"
    try:
        # a child has the libraries imported already, which is most of what a test that fails at once takes
        child = os.fork()
        if not child:
            os.setpgid(0, 0)
            _tested(mutation.room, copy, out)
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


def _tested(room: str, copy: Path, out: Path) -> None:
    """Run the room's tests in this process, which ends with it."""
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
        words = ["-x", "-q", "--tb=no", "-p", "no:cacheprovider", *UNASKED, *dict.fromkeys(ROOMS[room][1])]
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
    parser.add_argument("--most", type=float, default=300)
    given = parser.parse_args(arguments)
    rooms = given.room or list(ROOMS)
    if given.only:
        lines = {f"{one.path.relative_to(SOURCE)}:{one.line}": None for room in rooms for one in mutations(room)}
        asked = [line for line in given.only if line in lines]
        todo = [
            one for room in rooms for one in mutations(room) if f"{one.path.relative_to(SOURCE)}:{one.line}" in asked
        ]
    else:
        todo = chosen(rooms, given.count, given.seed)
    killed = stopped = 0
    with tempfile.TemporaryDirectory() as made:
        copy = Path(made)
        for name in KEPT:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            elif (ROOT / name).exists():
                shutil.copy(ROOT / name, copy / name)
        for number, one in enumerate(todo, 1):
            start = time.monotonic()
            by = tried(one, copy, given.most)
            killed += bool(by) and by != STOPPED
            stopped += by == STOPPED
            how = by if by in ("", STOPPED) else "killed"
            print(f"{number:3} {time.monotonic() - start:4.0f} s {how or 'LIVES':7} {one}  {by}", flush=True)
    print(f"{killed} of {len(todo)} killed, {stopped} stopped")


if __name__ == "__main__":
    main(sys.argv[1:])
