"""One answer a question: the same from Python as from the command, in words, as data, as HTML."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import json
import pkgutil
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

import strongback as sb
from strongback.answer import HIDDEN, INLINE, VIEWS, Answer, Told, plain, told
from strongback.cli.frame import main

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = ["demo", *sorted(p.name for p in EXAMPLES.iterdir() if (p / "project.toml").exists())]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Inner:
    size: float = dataclasses.field(metadata=told("size_m"))


@dataclasses.dataclass(frozen=True, kw_only=True)
class Outer(Told):
    TOLD = (("twice_m", "twice"), ("no?", "nothing"))

    inner: Inner = dataclasses.field(metadata=INLINE)
    named: Inner = dataclasses.field(metadata=told("named_m", of="size"))
    rows: tuple[tuple[str, float], ...] = dataclasses.field(metadata=told(each=("name", "reading_m")))
    by_pull: tuple[tuple[str, float], ...] = dataclasses.field(metadata=told("add_m", mapping=True))
    why: str = dataclasses.field(default="", metadata=told(blank=True))
    gap: float | None = dataclasses.field(default=None, metadata=told("gap_m", absent=True))
    loop: object = dataclasses.field(default=None, metadata=HIDDEN)
    field: np.ndarray = dataclasses.field(default_factory=lambda: np.array([[1.0, np.inf]]))

    @property
    def twice(self) -> float:
        return 2.0 * self.inner.size

    @property
    def nothing(self) -> None:
        return None


def test_plain_data_come_from_the_fields():
    value = Outer(inner=Inner(size=2.0), named=Inner(size=3.0), rows=(("a", 1.0),), by_pull=(("b", 2.0),))
    assert plain(value) == {
        "size_m": 2.0, "named_m": 3.0, "rows": [{"name": "a", "reading_m": 1.0}], "add_m": {"b": 2.0}, "why": None,
        "field": [[1.0, None]], "twice_m": 4.0,
    }  # fmt: skip
    empty = dataclasses.replace(value, by_pull=(), gap=1.0, why="so")
    assert (plain(empty)["add_m"], plain(empty)["gap_m"], plain(empty)["why"]) == (None, 1.0, "so")
    assert json.loads(json.dumps(plain(value), allow_nan=False)) == plain(value)


def answers() -> list[type[Answer]]:
    found = []
    for module in pkgutil.walk_packages(sb.__path__, "strongback."):
        if module.name.split(".")[-1] in ("__main__", "_triangle_child"):
            continue
        own = importlib.import_module(module.name)
        found += [
            each
            for each in vars(own).values()
            if inspect.isclass(each) and issubclass(each, Answer) and each is not Answer
        ]
    return list(dict.fromkeys(found))


def test_every_answer_has_its_view_and_a_short_repr():
    """A dataclass writes a repr of its own unless it is told not to."""
    kinds = answers()
    assert {each.__name__ for each in kinds} == set(VIEWS)
    for each in kinds:
        assert "__create_fn__" not in each.__repr__.__qualname__, each
        text, pictures = VIEWS[each.__name__]
        assert callable(importlib.import_module(f"strongback.views.{text}").sheet)
        if pictures:
            assert callable(importlib.import_module(f"strongback.views.{pictures}").figure)
            assert callable(importlib.import_module(f"strongback.views.{pictures}").figures)


def test_public_names_hold_once_every_module_is_imported():
    """A name that equals a module below the package would be one or the other by the order of imports."""
    code = """
import pkgutil, importlib, types
import strongback as sb
for m in pkgutil.walk_packages(sb.__path__, "strongback."):
    if not m.name.endswith(("__main__", "_triangle_child")):
        importlib.import_module(m.name)
for name in sb.__all__:
    assert not isinstance(getattr(sb, name), types.ModuleType), name
assert len(sb.__all__) - 1 <= 60, len(sb.__all__)
"""
    subprocess.run([sys.executable, "-c", code], check=True)


def commanded(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> dict[str, object]:
    """The object of `--json` without the schema and what was done on the way."""
    assert main([*words, "--json"]) == code, capsys.readouterr().err
    found = json.loads(capsys.readouterr().out)
    return {key: value for key, value in found.items() if key not in ("schema", "run")}


def printed(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> str:
    monkeypatch.setenv("COLUMNS", "80")
    assert main([*words]) == 0, capsys.readouterr().err
    return capsys.readouterr().out


class Balanced(HTMLParser):
    """Counts tags that are opened and not closed."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def same(one: object, other: object, where: str = "") -> None:
    """The same keys and values; numbers to what the alignment of arrays in memory does to the last digits of a fit."""
    if isinstance(one, dict):
        assert isinstance(other, dict), where
        assert one.keys() == other.keys(), where
        for key in one:
            same(one[key], other[key], f"{where}.{key}")
    elif isinstance(one, list):
        assert isinstance(other, list), where
        assert len(one) == len(other), where
        for i, pair in enumerate(zip(one, other, strict=True)):
            same(*pair, f"{where}[{i}]")
    elif isinstance(one, float):
        assert other == pytest.approx(one, rel=1e-7, abs=1e-14), where
    else:
        assert one == other, where


def shows_itself(found: Answer) -> None:
    """Short repr, HTML in the colours of the page it stands in."""
    assert len(repr(found).splitlines()) <= 5
    assert len(repr(found)) < 600
    html = found._repr_html_()
    page = Balanced()
    page.feed(html)
    assert page.open == []
    assert html.count("<table") == len(found.tables())
    assert "color:inherit" in html
    assert "background:#" not in html
    json.dumps(found.to_dict(), allow_nan=False)


def path_of(name: str) -> str:
    return name if name == "demo" else str(EXAMPLES / name)


@pytest.mark.parametrize("name", NAMES)
def test_deflect(name, capsys, monkeypatch):
    path = path_of(name)
    found = sb.deflect(path)
    same(found.to_dict(), commanded(capsys, "deflect", path))
    assert str(found) + "\n" == printed(capsys, monkeypatch, "deflect", path, "--no-figures")
    assert found[found.pulls[0].pull.name].total == found.to_dict()["pulls"][0]["total_m"]
    shows_itself(found)


@pytest.mark.parametrize("name", NAMES)
def test_check(name, capsys, monkeypatch):
    path = path_of(name)
    found = sb.check(path)
    told = commanded(capsys, "check", path)
    same(found.to_dict(), told)
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["check", path, "--no-figures"]) == 0
    said = capsys.readouterr()
    assert str(found) + "\n" == said.out + said.err
    shows_itself(found)
    assert found.figure()._repr_png_().startswith(b"\x89PNG")


@pytest.mark.parametrize("name", NAMES)
def test_loads(name, capsys, monkeypatch):
    path = path_of(name)
    found = sb.loads(path)
    same(found.to_dict(), commanded(capsys, "loads", path))
    assert str(found) + "\n" == printed(capsys, monkeypatch, "loads", path, "--no-figures")
    shows_itself(found)


def test_a_pull_is_a_case_by_its_name():
    """One statics: a case of one pull moves the tool as the pull does."""
    one = sb.loads("demo", case="sideways")["sideways"]
    same = sb.deflect("demo", pull="sideways")["sideways"].deflection
    assert one.tool_displacement == pytest.approx(same.tool_displacement, rel=1e-12)
    with pytest.raises(sb.QuestionError, match="there is no case 'droop'"):
        sb.loads("demo", case="droop")


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_map(name, capsys, monkeypatch):
    path = path_of(name)
    if not sb.read(path).machine.travels:
        with pytest.raises(sb.StrongbackError, match="no travel to map"):
            sb.compliance_map(path)
        return
    found = sb.compliance_map(path)
    same(found.to_dict(), commanded(capsys, "deflect", path, "--map"))
    assert str(found) + "\n" == printed(capsys, monkeypatch, "deflect", path, "--map", "--no-figures")
    shows_itself(found)
    assert found.figure()._repr_png_().startswith(b"\x89PNG")


WITH_MIX = [name for name in NAMES if "[mix]" in sb.read(path_of(name)).text]


@pytest.mark.parametrize("name", WITH_MIX)
def test_mix(name, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    path = path_of(name)
    found = sb.mix(path, draws=16)
    same(found.to_dict(), commanded(capsys, "mix", path, "--draws", "16"))
    assert str(found) + "\n" == printed(capsys, monkeypatch, "mix", path, "--draws", "16", "--no-figures")
    shows_itself(found)
    assert found.figure()._repr_png_().startswith(b"\x89PNG")
    pulls = {one["name"]: one["tool"]["along_pull_m"] for one in sb.deflect(path).to_dict()["pulls"]}
    assert found.before == pytest.approx(pulls, rel=1e-9)


MEASURED = [name for name in NAMES if sb.read(path_of(name)).extras["readings"]]
TWICE = [name for name in MEASURED if len(sb.read(path_of(name)).extras["readings"]) > 1]
CASES = [
    *(pytest.param("readings", name, id=f"readings-{name}") for name in MEASURED),
    *(
        pytest.param(kind, name, id=f"{kind}-{name}", marks=[] if name == "demo" else pytest.mark.slow)
        for kind, names in (
            ("compare", MEASURED),
            ("calibrate", MEASURED),
            ("plan", NAMES),
            ("explain", TWICE),
        )
        for name in names
    ),
]


@pytest.mark.parametrize(("kind", "name"), CASES)
def test_questions_about_readings(kind, name, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    path = path_of(name)
    try:
        found = getattr(sb, kind)(path)
    except sb.StrongbackError as error:
        assert main([kind, path, "--json"]) == error.exit_code  # noqa: PT017
        return
    code = 3 if getattr(found, "bad", False) else 0
    same(found.to_dict(), commanded(capsys, kind, path, code=code))
    assert main([kind, path, "--no-figures"]) == code
    said = capsys.readouterr()
    assert str(found) + "\n" == said.out + said.err
    shows_itself(found)
    assert found.figure()._repr_png_().startswith(b"\x89PNG")


def test_explain_begins_where_deflect_ends():
    """The state before is the one that `deflect` and `mix` name."""
    pulls = {one["name"]: one["total_m"] for one in sb.deflect("demo").to_dict()["pulls"]}
    assert sb.explain("demo").before == pytest.approx(pulls, rel=1e-9)


def test_a_calibrated_project_is_written_and_read(tmp_path):
    found = sb.calibrate("demo", fit="base")
    assert found.figure(of="correlation")._repr_png_().startswith(b"\x89PNG")
    again = sb.read(found.write(tmp_path / "mill"))
    for kept, fitted in zip(again.machine.joints, found.machine.joints, strict=True):
        assert kept.stiffness == pytest.approx(fitted.stiffness, rel=1e-5)  # six digits in the file
    with pytest.raises(sb.QuestionError, match="there is no stiffness 'bass'"):
        sb.calibrate("demo", fit="bass")
    with pytest.raises(sb.QuestionError, match="there is no data set 'befor'"):
        sb.readings("demo", data="befor")


def test_export_is_told_as_the_command_tells_it(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for file in ("mill.vtu", "mill.glb"):
        found = sb.export("demo", file, pull="sideways")
        same(found.to_dict(), commanded(capsys, "export", "demo", "--pull", "sideways", "--to", file))
        assert str(found) + "\n" == printed(
            capsys, monkeypatch, "export", "demo", "--pull", "sideways", "--to", file
        )
        shows_itself(found)
    with pytest.raises(sb.QuestionError, match="say which pull"):
        sb.export("demo", "mill.vtu")


@pytest.mark.slow
def test_the_whole_job_in_python_runs(tmp_path):
    done = subprocess.run(
        [sys.executable, str(EXAMPLES / "in_python.py")],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
    )
    assert "as handbooks have it" in done.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", NAMES)
def test_sections(name, capsys, monkeypatch):
    path = path_of(name)
    sb.sections(path)
    found = sb.sections(path)  # from the cache, as the command has it then
    same(found.to_dict(), commanded(capsys, "section", path))
    assert str(found).split() == printed(capsys, monkeypatch, "section", path, "--no-figures").split()
    shows_itself(found)
    assert found.figure()._repr_png_().startswith(b"\x89PNG")


def test_deflect_is_asked_of_a_path_a_project_or_a_machine():
    project = sb.read("demo")
    every = [sb.deflect(asked, pull="sideways") for asked in ("demo", project, project.machine)]
    assert every[0].to_dict() == every[1].to_dict() == every[2].to_dict()
    with pytest.raises(sb.QuestionError, match=r"there is no pull 'sidways' .* Did you mean 'sideways'\?"):
        sb.deflect(project, pull="sidways")


def test_pictures_of_a_deflection_show_themselves():
    found = sb.deflect(EXAMPLES / "tube-mill", pull="sideways")
    for how in ({}, {"of": "budget"}, {"of": "walls"}):
        assert found.figure(**how)._repr_png_().startswith(b"\x89PNG")
    assert [name for name, _ in found.figures()] == [
        "machine-sideways.png", "walls-column-sideways.png", "budget.png",
    ]  # fmt: skip
    with pytest.raises(sb.QuestionError, match="there is no body 'head'"):
        found.figure(of="walls", body="head")
