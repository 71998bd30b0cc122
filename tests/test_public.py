"""The public surface: every name is there, documented, and costs nothing until it is used."""

from __future__ import annotations

import ast
import importlib
import inspect
from pathlib import Path

import pytest

import strongback

PACKAGE = Path(strongback.__file__).parent
PUBLIC = [name for name in strongback.__all__ if name != "__version__"]


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_is_there_and_documented(name):
    found = getattr(strongback, name)
    assert inspect.getdoc(found), f"{name} has no docstring"
    assert found.__module__.startswith("strongback.")


def test_all_is_sorted_and_listed():
    assert sorted(PUBLIC) == PUBLIC
    assert set(PUBLIC) <= set(dir(strongback))


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'deflekt'"):
        strongback.deflekt  # noqa: B018


def test_version_is_that_of_the_distribution():
    text = (PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8")
    assert f'version = "{strongback.__version__}"' in text


def public_modules() -> list[Path]:
    return [
        path
        for path in sorted(PACKAGE.rglob("*.py"))
        if not path.name.startswith("_") or path.name == "__init__.py"
    ]


@pytest.mark.parametrize("path", public_modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_public_functions_and_classes_have_docstrings(path):
    """Every module, and everything in its `__all__`, says what it is."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree), f"{path.name} has no docstring"
    named: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.Assign) and any(
            isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets
        ):
            named = {str(e.value) for e in getattr(node.value, "elts", []) if isinstance(e, ast.Constant)}
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name in named:
            assert ast.get_docstring(node), f"{path.name}: {node.name} has no docstring"


@pytest.mark.parametrize("path", public_modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_all_names_what_is_there(path):
    relative = path.relative_to(PACKAGE).with_suffix("")
    parts = [p for p in relative.parts if p != "__init__"]
    if parts and parts[-1] == "__main__":
        pytest.skip("runs the command when it is imported")
    module = importlib.import_module(".".join(["strongback", *parts]))
    for name in getattr(module, "__all__", []):
        assert hasattr(module, name), f"{module.__name__} has no {name}"


def test_sizes_of_files_and_functions():
    """No file above 700 lines, no function above 100: a place that grew past it has more than one reason to change."""
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 700, f"{path.name} is {text.count(chr(10))} lines long"
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                doc = node.body[0] if ast.get_docstring(node) else None
                lines = (
                    (node.end_lineno or 0) - node.lineno - ((doc.end_lineno or 0) - doc.lineno if doc else 0)
                )
                assert lines <= 100, f"{path.name}: {node.name} has {lines} lines"


@pytest.mark.parametrize("name", PUBLIC)
def test_a_public_name_shows_a_worked_number(name):
    text = inspect.getdoc(getattr(strongback, name)) or ""
    assert "Examples\n--------\n" in text, f"{name} shows no example"
    assert ">>> " in text.split("Examples\n--------\n")[1], f"the example of {name} has no line to run"


def test_public_names_are_at_most_sixty():
    assert len(PUBLIC) <= 60
