"""The gallery: every worked problem runs, is held against a figure by hand, names its source, and stands on its page."""

from __future__ import annotations

import ast
import runpy
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPTS = sorted((ROOT / "examples" / "library").glob("*.py"))
PAGE = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")


def test_there_are_ten():
    assert len(SCRIPTS) >= 10


@pytest.mark.parametrize("script", SCRIPTS, ids=[s.stem for s in SCRIPTS])
def test_a_worked_problem_is_what_it_says(script, capsys):
    """Its assertions hold, and it prints what it found."""
    runpy.run_path(str(script), run_name="__main__")
    assert capsys.readouterr().out.strip()


@pytest.mark.parametrize("script", SCRIPTS, ids=[s.stem for s in SCRIPTS])
def test_a_worked_problem_asserts_and_stands_on_the_page(script):
    tree = ast.parse(script.read_text(encoding="utf-8"))
    held = [node for node in ast.walk(tree) if isinstance(node, ast.Assert)]
    assert len(held) >= 2
    assert all(isinstance(node.test, ast.Compare | ast.Call) for node in held)
    assert f"../examples/library/{script.name}" in PAGE
    assert (ast.get_docstring(tree) or "").splitlines()[0].rstrip(".") in PAGE
