"""Builds the documentation: python -m sphinx -W -b html docs docs/_build."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

import strongback as sb  # noqa: E402
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


def _api_page() -> str:
    lines = [
        "# Python",
        "",
        "`import strongback as sb`: every public name, in SI units. Values are frozen; a result exists when it has been",
        "computed and never changes.",
        "",
    ]
    for name in sorted(n for n in sb.__all__ if n != "__version__"):
        found = getattr(sb, name)
        kind = "autoclass" if isinstance(found, type) else "autofunction" if callable(found) else "autodata"
        lines += ["```{eval-rst}", f".. {kind}:: strongback.{name}", "```", ""]
    return "\n".join(lines)


_write("words.md", _words_page())
_write("api.md", _api_page())
