"""Results show themselves: pictures as PNG without pyplot, tables in all forms, files by their ending."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import meshio
import numpy as np
import pytest
from machines import small_mill, tube_machine, welded_tubes
from matplotlib.collections import PathCollection
from matplotlib.patches import PathPatch

import strongback as sb
from strongback.errors import InputError
from strongback.machine.part.make import parts_of
from strongback.machine.sample import post
from strongback.machine.spread import budget_spread
from strongback.section.shapes import rectangular_tube
from strongback.views import show


@pytest.fixture(scope="module")
def solved():
    machine = small_mill()
    loop = sb.assemble(machine, parts_of(machine))
    return loop, sb.solve(loop, machine.pulls[0])


def test_a_picture_shows_itself(solved):
    assert show.plot(*solved, width_mm=80.0)._repr_png_().startswith(b"\x89PNG\r\n")


def test_a_notebook_shows_pictures_and_tables_without_pyplot():
    """The display machinery of IPython finds PNG, HTML and Markdown, in a process of its own."""
    code = """
import sys
import strongback as sb
from strongback.views import show
from IPython.core.formatters import DisplayFormatter
from strongback.section.shapes import rectangular_tube
tube = rectangular_tube(sb.material("steel"), 0.06, 0.08, 0.004)
data, _ = DisplayFormatter().format(show.plot(tube, width_mm=60.0))
assert data["image/png"].startswith(b"\\x89PNG"), data.keys()
data, _ = DisplayFormatter().format(show.table(sb.analyse(tube).stiffness))
assert "<table" in data["text/html"] and "|" in data["text/markdown"]
assert len(data["text/plain"].splitlines()) <= 5
assert "matplotlib.pyplot" not in sys.modules
"""
    pytest.importorskip("IPython")
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stderr


def drawn(figure):
    (faces,) = [c for c in figure.axes[0].collections if isinstance(c, PathCollection)]
    return np.concatenate([path.vertices for path in faces.get_paths()])


def test_before_and_after_are_magnified_alike(solved):
    """Under twice the force the column is drawn twice as far from its rest where the factor is fixed."""
    loop, one = solved
    pull = loop.machine.pulls[0]
    two = sb.solve(loop, replace(pull, force=tuple(2.0 * f for f in pull.force)))
    widths = [
        np.ptp(drawn(show.plot(loop, d, magnify=m))[:, 0]) for d, m in ((one, 1e-9), (one, 5.0), (two, 5.0))
    ]
    assert widths[2] - widths[0] == pytest.approx(2.0 * (widths[1] - widths[0]), rel=1e-6)
    said = [t.get_text() for t in show.plot(loop, two, magnify=20.0).texts]
    assert any("motion drawn × 20" in text for text in said)


@pytest.mark.parametrize("factor", [0.0, -1.0, float("nan"), float("inf")])
def test_a_factor_that_makes_no_picture_is_refused(solved, factor, tmp_path):
    with pytest.raises(InputError, match="magnify"):
        show.plot(*solved, magnify=factor)
    with pytest.raises(InputError, match="magnify"):
        show.write(*solved, tmp_path / "mill.vtu", magnify=factor)
    assert list(tmp_path.iterdir()) == []


def test_what_has_no_picture_or_table_is_refused(solved):
    loop, _ = solved
    with pytest.raises(InputError, match="no picture"):
        show.plot(loop)
    with pytest.raises(InputError, match="magnify is for"):
        show.plot(rectangular_tube(sb.material("steel"), 0.06, 0.08, 0.004), magnify=5.0)
    with pytest.raises(InputError, match="no table"):
        show.table(loop)


def test_pictures_of_budgets_and_outlines(solved):
    loop, _ = solved
    budgets = [sb.budget(loop, pull) for pull in loop.machine.pulls]
    assert len(show.plot(loop, budgets).axes) == 2
    assert len(show.plot(loop, budgets[0]).axes) == 1


def test_a_table_of_motions_has_the_tool_and_every_station(solved):
    loop, deflection = solved
    frame = show.table(deflection).frame()
    assert frame["part"].tolist().count("column") == len(loop.stations["column"].s)
    tool = frame.iloc[0]
    assert [tool[f"along {axis} [µm]"] for axis in "XYZ"] == pytest.approx(
        deflection.tool_displacement * 1e6, rel=1e-12
    )


def test_a_table_of_a_budget_adds_to_the_whole(solved):
    loop, _ = solved
    frame = show.table(sb.budget(loop, loop.machine.pulls[0])).frame()
    assert frame["gives [µm]"].iloc[:-1].sum() == pytest.approx(frame["gives [µm]"].iloc[-1], rel=1e-9)


@pytest.mark.parametrize("ending", ["vtu", "vtk", "xdmf"])
def test_files_by_their_ending(solved, tmp_path, ending):
    path = show.write(*solved, str(tmp_path / f"mill.{ending}"), magnify=123.0)
    assert len(meshio.read(path).points) > 50
    if ending == "vtu":
        assert meshio.read(path).field_data["magnification"] == 123.0


def test_a_scene_by_its_ending(tmp_path):
    machine = tube_machine()
    loop = sb.assemble(machine, parts_of(machine))
    path = show.write(loop, sb.solve(loop, machine.pulls[0]), tmp_path / "mill.glb", magnify=123.0)
    assert b'"magnification": 123.0' in path.read_bytes()


def test_values_and_results_are_short_in_a_notebook():
    """At most five lines of a page: machines and outlines by what they hold, not by every number."""
    machine = sb.read("demo").machine
    outline = dict(machine.sections)["column"]
    tube = rectangular_tube("steel", 0.06, 0.08, 0.004).with_fill("inside", "epoxy mineral")
    loop = sb.assemble(post(), sb.parts_of(post()))
    pull = post().pulls[0]
    shown = [machine, outline, tube, loop, sb.parts_of(post()), sb.solve(loop, pull), sb.budget(loop, pull)]
    shown += [
        sb.analyse(tube),
        sb.deflect(post()),
        budget_spread(post(), sb.parts_of(post()), pull, draws=64),
    ]
    for value in shown:
        assert len(repr(value)) <= 5 * 80, type(value)
        assert repr(value).count("\n") < 5
    assert repr(tube) == "Outline('rectangular tube': 60 x 80 mm, steel; cells: inside of epoxy mineral)"
    assert repr(post()) == "Machine('post': 1 member, 1 support, 1 pull, 1 gauge)"


def test_a_bar_in_a_fill_is_drawn_as_a_wall_is():
    """Colours of the patches of two tubes, one filled around a steel bar: two walls and a bar alike, one fill."""
    patches = [p for p in sb.plot(welded_tubes()).axes[0].patches if isinstance(p, PathPatch)]
    hatched = [p for p in patches if p.get_hatch()]
    plain = [p for p in patches if not p.get_hatch()]
    assert (len(hatched), len(plain)) == (1, 3)
    assert len({p.get_facecolor() for p in plain}) == 1
