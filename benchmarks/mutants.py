"""Change one operator or number of a module at a time and count how many of the changes its tests notice.

Run: python benchmarks/mutants.py strongback/remedies/fill/cure.py tests/remedies/test_fill_cure.py [--every 1] [--json]
Each change runs in a child of its own that has the libraries loaded; nothing is written. Needs fork, so no Windows.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import copy
import json
import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy  # noqa: F401  loaded once, for all children
import pytest
import shapely  # noqa: F401  loaded once, for all children

ROOT = Path(__file__).parents[1]
TARGET = 0.9
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.MatMult: ast.Add,
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
NAMES = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "sin": "cos", "cos": "sin"}
SKIPPED = (ast.JoinedStr, ast.ImportFrom, ast.Import)


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """What can be changed: nodes and what becomes of them, in the order of the file."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, SKIPPED) or _is_text(node):
            continue
        if isinstance(node, ast.AnnAssign):
            if node.value is not None:
                yield from places(ast.Expression(node.value))
            continue
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                yield from places(ast.Module([part], []))
            continue
        if isinstance(node, ast.FunctionDef):
            for part in (*node.args.defaults, *(d for d in node.args.kw_defaults if d), *node.body):
                yield from _own(part)
                yield from places(part)
            continue
        yield from _own(node)
        yield from places(node)


def _is_text(node: ast.AST) -> bool:
    listed = isinstance(node, ast.Assign) and any(
        isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets
    )
    raised = isinstance(node, ast.Raise)
    return listed or raised or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant))


def _own(node: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    if isinstance(node, ast.BinOp | ast.BoolOp | ast.AugAssign) and type(node.op) in SWAPS:
        yield node, f"{type(node.op).__name__} to {SWAPS[type(node.op)].__name__}"
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in SWAPS:
        yield node, f"{type(node.ops[0]).__name__} to {SWAPS[type(node.ops[0])].__name__}"
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
        yield node, f"{type(node.op).__name__} dropped"
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield node, f"{node.value} to {not node.value}"
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        yield node, f"{node.value} changed"
    elif isinstance(node, ast.Name | ast.Attribute) and _name(node) in NAMES:
        yield node, f"{_name(node)} to {NAMES[_name(node)]}"


def _name(node: ast.AST) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


def changed(tree: ast.Module, index: int) -> tuple[ast.Module, str]:
    """The tree with one place changed, and what was done where."""
    made = copy.deepcopy(tree)
    node, what = list(places(made))[index]
    if isinstance(node, ast.BinOp | ast.BoolOp | ast.AugAssign):
        node.op = SWAPS[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.Compare):
        node.ops[0] = SWAPS[type(node.ops[0])]()  # type: ignore[assignment]
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd()
        if what.startswith("Not"):
            node.op = ast.Not()
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Constant):
        value = node.value
        node.value = (
            not value if isinstance(value, bool) else value + 1 if isinstance(value, int) else _near(value)
        )
    elif isinstance(node, ast.Name):
        node.id = NAMES[node.id]
    elif isinstance(node, ast.Attribute):
        node.attr = NAMES[node.attr]
    return ast.fix_missing_locations(made), f"line {getattr(node, 'lineno', 0)}: {what}"


def _near(value: object) -> float:
    assert isinstance(value, float)
    return 1.3 * value if value else 0.3


class Changed:
    """Loader that gives one module another body."""

    def __init__(self, name: str, file: Path, tree: ast.Module) -> None:
        self.name, self.file, self.tree = name, file, tree

    def find_spec(self, name: str, path: object, target: object = None) -> object:
        from importlib.machinery import ModuleSpec

        return ModuleSpec(name, self, origin=str(self.file)) if name == self.name else None

    def create_module(self, spec: object) -> None:
        return None

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(self.file)
        exec(compile(self.tree, str(self.file), "exec"), module.__dict__)


def noticed(file: Path, tree: ast.Module, tests: list[str], seconds: float) -> bool:
    """Whether the tests fail, or take for ever, with a changed module."""
    child = os.fork()
    if child == 0:
        code = 1
        with contextlib.suppress(BaseException):
            with open(os.devnull, "w") as nothing:
                os.dup2(nothing.fileno(), 1)
                os.dup2(nothing.fileno(), 2)
            signal.alarm(int(seconds))
            name = ".".join(file.resolve().relative_to(ROOT).with_suffix("").parts)
            sys.meta_path.insert(0, Changed(name, file, tree))  # type: ignore[arg-type]
            code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "--no-header", *tests]))
        os._exit(min(code, 100))
    return os.waitpid(child, 0)[1] != 0


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("tests", nargs="+")
    parser.add_argument("--every", type=int, default=1, help="only each nth change")
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    os.environ["STRONGBACK_CACHE"] = "off"
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    tree = ast.parse(given.file.read_text(encoding="utf-8"))
    start = time.monotonic()
    if noticed(given.file, tree, given.tests, 600):
        print("the tests fail as they are", file=sys.stderr)
        return 2
    seconds = max(20.0, 10.0 * (time.monotonic() - start))
    indices = range(0, len(list(places(tree))), given.every)
    survivors = []
    for index in indices:
        made, what = changed(tree, index)
        if not noticed(given.file, made, given.tests, seconds):
            survivors.append(what)
            if not given.json:
                print(f"{given.file}, {what}", flush=True)
    share = 1.0 - len(survivors) / max(len(indices), 1)
    row = {"name": f"changes of {given.file} noticed", "value": share, "unit": "", "target": f">= {TARGET:g}"}
    rows = [{**row, "met": share >= TARGET}]
    print(json.dumps(rows) if given.json else f"{len(indices)} changes, {share:.0%} noticed")
    return 0 if rows[0]["met"] else 1


if __name__ == "__main__":
    sys.exit(main())
