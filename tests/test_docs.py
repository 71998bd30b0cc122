"""Every page of the documentation runs as it is printed, and every link leads somewhere."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from strongback.cli.frame import main

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted(p for p in DOCS.glob("*.md") if p.name not in ("api.md", "words.md"))


@pytest.mark.slow
@pytest.mark.parametrize("page", PAGES, ids=[p.stem for p in PAGES])
def test_shell_lines_run_in_order(page, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for folder in ("scan", "answers"):
        shutil.copytree(ROOT / "examples" / folder, tmp_path / folder)
    text = page.read_text(encoding="utf-8")
    for block in re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S):
        for line in block.splitlines():
            words = shlex.split(line)
            assert words[0] == "strongback", line
            assert main(words[1:]) == 0, f"{line}\n{capsys.readouterr().err}"


def test_python_of_the_notebook_page_runs_in_order(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    text = (DOCS / "notebook.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```python\n(.*?)^```", text, re.M | re.S)
    assert len(blocks) == 2
    known: dict[str, object] = {}
    for block in blocks:
        exec(block, known)
    assert "Budget: sideways" in capsys.readouterr().out
    assert (tmp_path / "sideways.vtu").exists()


@pytest.mark.parametrize("page", PAGES, ids=[p.stem for p in PAGES])
def test_links_and_pictures_are_there(page):
    text = page.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)", text) + re.findall(
        r"^```\{image\} (\S+)", text, re.M
    )
    for target in targets:
        assert (DOCS / target).exists(), target


def test_the_index_lists_every_page():
    listed = set(re.findall(r"^([a-z]+)$", (DOCS / "index.md").read_text(encoding="utf-8"), re.M))
    assert {p.stem for p in PAGES} - {"index"} <= listed


def test_pages_ask_the_network_for_nothing():
    for page in PAGES:
        assert not re.search(
            r"!\[[^\]]*\]\(https?:|<(?:script|img|link)\b", page.read_text(encoding="utf-8")
        ), page.name


def test_the_citation_has_the_version_of_the_package():
    import strongback

    text = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    assert f"version: {strongback.__version__}\n" in text


def test_the_reference_has_every_public_name_and_every_answer():
    import runpy

    import strongback as sb
    from strongback.answer import VIEWS

    page = runpy.run_path(str(DOCS / "conf.py"))["_api_page"]()
    listed = set(re.findall(r"^\.\. auto\w+:: \S*?(\w+)$", page, re.M))
    assert set(sb.__all__) - {"__version__"} <= listed
    assert set(VIEWS) <= listed


def test_no_page_for_users_names_a_library_of_general_purpose():
    """What the package is built of is a matter of its makers; sources and references keep their names."""
    for name in ("README.md", "docs/tutorial.md", "docs/measure.md", "docs/limits.md", "docs/index.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert not re.search(r"sectionproperties|scipy|matplotlib|shapely|numpy|mesher", text), name
