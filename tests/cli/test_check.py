"""What `check` shows before anything is solved: sizes to weigh, a picture, an outline with its fault marked."""

from __future__ import annotations

import json
import shutil

import numpy as np
import pytest

from strongback.cli.frame import main
from strongback.materials import material
from strongback.project import demo_folder, read
from strongback.project.crossing import corner_across, meant
from strongback.views import style
from strongback.views.check_plot import sketch_figure


@pytest.fixture
def mine(tmp_path, monkeypatch):
    shutil.copy(demo_folder().parent / "starter.toml", tmp_path / "project.toml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_sizes_and_masses_are_those_of_the_drawing(mine, capsys):
    """A tube of 80 x 120 mm with walls of 4 mm, corners 5 and 1 mm, by hand."""
    assert main(["check", ".", "--json"]) == 0
    sizes = json.loads(capsys.readouterr().out)["sizes"]
    area = (0.08 * 0.12 - 0.072 * 0.112) - (4 - np.pi) * (0.005**2 - 0.001**2)
    per = area * material("aluminium 6060").density
    tube = sizes["sections"][0]
    assert tube["size_m"] == pytest.approx([0.08, 0.12])
    assert tube["mass_per_length_kg_m"] == pytest.approx(per, rel=1e-3)  # arcs are drawn as chords
    column = sizes["members"][0]
    assert (column["length_m"], column["mass_kg"]) == pytest.approx((0.42, 0.42 * per), rel=1e-3)
    assert sizes["total_kg"] == pytest.approx(sum(m["mass_kg"] for m in sizes["members"]))
    assert main(["check", ".", "--no-figures"]) == 0
    shown = capsys.readouterr().out
    assert "80 x 120" in shown
    assert f"{per:.2f}" in shown
    assert not (mine / "strongback-out").exists()


def test_the_picture_shows_what_was_typed(mine, capsys):
    assert main(["check", ".", "--out", "out"]) == 0
    assert (mine / "out" / "as-typed.png").stat().st_size > 10_000
    assert "wrote out/as-typed.png" in capsys.readouterr().err


def test_the_picture_has_every_joint_pull_and_part():
    machine = read(demo_folder()).machine
    figure = sketch_figure(machine)
    style.png(figure)
    front, right = figure.axes
    for axes in (front, right):
        words = [text.get_text() for text in axes.texts]
        assert {str(i + 1) for i in range(len(machine.holders()))} <= set(words)
        assert set("abcde") <= set(words)
    assert "operator" in [text.get_text() for text in right.texts]
    legend = {text.get_text() for text in figure.legends[0].get_texts()}
    assert legend == {p.name for p in (*machine.members, *machine.blocks)}
    # the front view has the right of the operator to the right, the other one the operator on the left
    assert front.get_xlabel() == "X"
    assert right.get_xlabel() == "Y"
    (operator,) = [text for text in right.texts if text.get_text() == "operator"]
    assert operator.xy[0] < min(1e3 * m.end[1] for m in machine.members)


def test_swapped_digits_are_named_and_drawn(mine, capsys):
    """A slot typed as 90 where 09 was measured: the corner, the likely meaning, and a picture with the place."""
    text = (mine / "project.toml").read_text(encoding="utf-8")
    start = text.index('shape = "rectangular tube"')
    end = text.index("\n# The same tube filled")
    points = 'unit = "mm"\npoints = [[0, 0], [80, 0], [80, 100], [0, 100], [90, 50]]\n'
    (mine / "project.toml").write_text(text[:start] + points + text[end:], encoding="utf-8")
    assert main(["check", ".", "--out", "out"]) == 3
    err = capsys.readouterr().err
    assert "corner 5, (90, 50) mm, lies across; two digits swapped? (9, 50) mm would do" in err
    assert "wrote out/outline-at-fault-1.png" in err
    assert (mine / "out" / "outline-at-fault-1.png").stat().st_size > 5_000
    assert main(["check", ".", "--no-figures"]) == 3
    assert "wrote" not in capsys.readouterr().err


def test_a_bow_tie_has_no_single_corner():
    assert corner_across([(0.0, 0.0), (0.1, 0.1), (0.1, 0.0), (0.0, 0.1)]) is None
    assert corner_across([(0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.0, 0.1)]) is None
    crossed = [(0.0, 0.0), (0.08, 0.0), (0.08, 0.1), (0.0, 0.1), (0.555, 0.055)]
    assert meant(crossed, 4) is None  # the digits of 555 can be swapped as one likes
