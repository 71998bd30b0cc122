"""The palette can be told apart in grey and by eyes that lack a kind of cone; parts keep their colour."""

from __future__ import annotations

import itertools
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from colours import DICHROMACY, lab, linear
from machines import frame, isotropic, small_mill

from strongback.errors import EnvironmentFault
from strongback.machine.values import Place
from strongback.views import style


@pytest.mark.parametrize("kind", DICHROMACY)
def test_rows_of_the_matrices_keep_white(kind):
    assert np.sum(DICHROMACY[kind], axis=1) == pytest.approx(1.0, abs=2e-6)


def test_lightness_of_white_and_black_is_100_and_0():
    assert lab(linear("white"))[0] == pytest.approx(100.0, abs=0.01)
    assert lab(linear("black"))[0] == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("kind", [None, *DICHROMACY])
def test_roles_differ_for_every_eye(kind):
    """Twenty steps of CIE 1976 colour difference: ten times what is just seen side by side (about 2.3)."""
    matrix = np.eye(3) if kind is None else np.array(DICHROMACY[kind])
    colours = {role: lab(matrix @ linear(colour)) for role, colour in style.ROLES.items()}
    for (a, one), (b, other) in itertools.combinations(colours.items(), 2):
        assert np.linalg.norm(one - other) > 20.0, f"{a} and {b} look alike"


def test_roles_differ_in_grey():
    lightness = sorted(lab(linear(colour))[0] for colour in style.ROLES.values())
    assert min(np.diff(lightness)) > 7.0


@pytest.mark.parametrize("kind", [None, "deuteranopia", "protanopia"])
def test_joints_differ_from_each_other_and_from_parts(kind):
    matrix = np.eye(3) if kind is None else np.array(DICHROMACY[kind])
    roles = {role: colour for role, colour in style.ROLES.items() if role not in ("joints", "wall", "fill")}
    joints = {colour: colour for colour, _ in style.JOINTS}
    for (a, one), (b, other) in itertools.combinations({**roles, **joints}.items(), 2):
        far = np.linalg.norm(lab(matrix @ linear(one)) - lab(matrix @ linear(other)))
        assert far >= 20.0, f"{a} and {b} look alike"
    assert len({pattern for _, pattern in style.JOINTS}) == len(style.JOINTS)


def test_no_part_is_nearly_black():
    """Lightness of at least 20, where black has none and the ink of the figures 15."""
    for role, (dark, _) in style.SHADES.items():
        assert lab(linear(style.shade(style.ROLES[role], dark)))[0] >= 20.0, role


def test_the_first_of_few_parts_has_the_colour_of_its_role():
    parts = style.colours_of(small_mill())
    assert set(parts) == {"column", "arm", "bed"}
    assert parts["column"] == style.ROLES["column"]
    assert parts["arm"] == style.ROLES["head"]
    assert parts["bed"] == style.ROLES["bed"]


def test_parts_without_telling_names_get_their_role_by_their_place():
    """A portal frame: what carries the tool, what is held by the ground, what is nearer to which."""
    bar = isotropic(210e9, 81e9, 1e-3, 1e-6, 1e-6, 2e-6)
    nodes = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0), (1.0, 0.0, 0.0)]
    machine = frame(nodes, [(0, 1), (1, 2), (2, 3)], bar, [0, 3])
    machine = replace(machine, tool=Place(part="node 2", at=nodes[2]))
    roles = style.roles_of(machine)
    assert roles["node 2"] == "spindle"
    assert roles["node 0"] == roles["node 3"] == "bed"
    assert roles["member 0"] == "column"
    assert roles["member 1"] == "head"


def test_parts_of_one_role_are_told_apart():
    """Up to five of a role: differences of more than 8, three times what is just seen side by side."""
    for role in style.SHADES:
        for count in (2, 3, 4, 5):
            shades = [style.shade(style.ROLES[role], step) for step in style._shades(role, count)]
            for one, other in itertools.combinations(shades, 2):
                assert np.linalg.norm(lab(linear(one)) - lab(linear(other))) > 8.0, (role, count)


def test_joints_side_by_side_get_different_colours_where_there_are_more_than_colours():
    bars = [[f"j{i}" for i in range(12)], [f"j{i}" for i in (0, 2, 4, 6, 8, 10, 1, 3)]]
    looks = style.joint_looks(bars)
    assert len(set(looks.values())) == 12
    for bar in bars:
        for one, other in itertools.pairwise(bar):
            assert looks[one][0] != looks[other][0]


def test_signed_map_is_even_about_its_middle():
    """Both halves darken steadily from the middle outwards."""
    steps = np.array([lab(linear(style.SIGNED(x)[:3]))[0] for x in np.linspace(0, 1, 21)])
    assert np.all(np.diff(steps[:11]) > 0)
    assert np.all(np.diff(steps[10:]) < 0)


def test_a_figure_has_the_size_asked_for():
    figure = style.new_figure(80.0, 50.0)
    assert figure.get_size_inches() * 25.4 == pytest.approx([80.0, 50.0])


def test_figures_need_no_global_state():
    """In a process of its own: other tests load pyplot by way of the libraries that they compare with."""
    code = (
        "import sys; from strongback.views import style; style.png(style.new_figure(80.0, 50.0)); "
        "sys.exit('matplotlib.pyplot' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0


def test_png_is_the_same_for_the_same_figure(tmp_path):
    path = style.save(style.new_figure(40.0, 30.0), tmp_path / "deep" / "a.png")
    assert path.read_bytes() == style.png(style.new_figure(40.0, 30.0))
    assert path.read_bytes().startswith(b"\x89PNG")
    assert [p.name for p in path.parent.iterdir()] == ["a.png"]


def test_a_folder_that_cannot_be_written_is_a_fault(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises((EnvironmentFault, OSError)):
        style.save(style.new_figure(40.0, 30.0), tmp_path / "file" / "a.png")
