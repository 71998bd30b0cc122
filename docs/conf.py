"""Builds the documentation: python -m sphinx -W -b html docs docs/_build."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

import strongback as sb  # noqa: E402
from strongback import ask  # noqa: E402
from strongback.answer import Answer  # noqa: E402
from strongback.views.words import words  # noqa: E402

project = "strongback"
author = "the strongback contributors"
copyright = author
release = version = sb.__version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build"]
myst_heading_anchors = 3
napoleon_google_docstring = False
napoleon_use_rtype = False
autodoc_typehints = "none"
autodoc_member_order = "bysource"

html_theme = "furo"
html_title = "strongback"
html_theme_options = {
    "light_css_variables": {"color-brand-primary": "#0b5d66", "color-brand-content": "#0b5d66"},
    "dark_css_variables": {"color-brand-primary": "#74c7cf", "color-brand-content": "#74c7cf"},
}
html_copy_source = False
html_show_sphinx = False


def _write(name: str, text: str) -> None:
    """A generated page, rewritten only when it changes."""
    path = HERE / name
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        path.write_text(text, encoding="utf-8")


def _words_page() -> str:
    lines = ["# Words of the trade", "", "As `strongback words` prints them.", ""]
    for word in words():
        lines += [f"## {word.name}", "", word.text, ""]
        if word.sketch:
            lines += ["```text", word.sketch, "```", ""]
    return "\n".join(lines)


QUESTIONS = "Questions, each with one answer; a command prints the same"
ANSWERS = "Answers: `str` is the text of the command, `to_dict()` its JSON, `tables()` and `figure()` show themselves"
VALUES = "Machines, sections and what they are made of"
STEPS = "Steps of a calculation"


def _answers() -> list[type]:
    """Every type of answer, by the module that it stands in."""
    for module in pkgutil.iter_modules(ask.__path__, "strongback.ask."):
        importlib.import_module(module.name)
    found, open_ones = [], [Answer]
    while open_ones:
        kinds = open_ones.pop().__subclasses__()
        found += kinds
        open_ones += kinds
    return sorted(set(found), key=lambda kind: kind.__name__)


def _api_page() -> str:
    """All public names in four groups, and all types of answers."""
    asked = {
        name
        for name in sb.__all__
        if getattr(getattr(sb, name), "__module__", "").startswith("strongback.ask")
    }
    answers = {kind.__name__: f"{kind.__module__}.{kind.__name__}" for kind in _answers()}
    groups: dict[str, dict[str, str]] = {QUESTIONS: {}, ANSWERS: {"Answer": "strongback.Answer", **answers}}
    groups |= {VALUES: {}, STEPS: {}}
    for name in sorted(n for n in sb.__all__ if n != "__version__" and n not in groups[ANSWERS]):
        group = QUESTIONS if name in asked else VALUES if isinstance(getattr(sb, name), type) else STEPS
        groups[group][name] = f"strongback.{name}"
    lines = [
        "# Python",
        "",
        "`import strongback as sb`: SI units. Values are frozen; a result exists when it has been computed and never",
        "changes.",
        "",
    ]
    for title, names in groups.items():
        lines += [f"## {title}", ""]
        for name, path in names.items():
            module, _, own = path.rpartition(".")
            found = getattr(importlib.import_module(module), own)
            kind = (
                "autoclass" if isinstance(found, type) else "autofunction" if callable(found) else "autodata"
            )
            more = ["   :members: to_dict, tables, text, figure, figures"] if name == "Answer" else []
            lines += ["```{eval-rst}", f".. {kind}:: {path}", *more, "```", ""]
    return "\n".join(lines)


_write("words.md", _words_page())
_write("api.md", _api_page())
