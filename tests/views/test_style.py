"""The palette can be told apart in grey and by eyes that lack a kind of cone; parts keep their colour."""

from __future__ import annotations

import itertools
import subprocess
import sys

import numpy as np
import pytest
from machines import small_mill
from matplotlib.colors import to_rgb

from strongback.errors import EnvironmentFault
from strongback.views import style

# Matrices for full dichromacy on linear RGB: Machado, Oliveira & Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009)
# 1291, table for severity 1.0; written from memory, their rows add to one as they must.
DICHROMACY = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(colour):
    """sRGB to linear RGB, IEC 61966-2-1."""
    c = np.array(to_rgb(colour))
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIE 1976 L*a*b* of linear RGB, white D65; matrix of IEC 61966-2-1."""
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ np.clip(
        rgb, 0, 1
    )
    t = xyz / np.array([0.9505, 1.0, 1.089])
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


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


def test_parts_of_one_name_as_a_joint_keep_apart():
    machine = small_mill()
    parts, joints = style.colours_of(machine), style.joint_colours(machine)
    assert set(parts) == {"column", "arm", "bed"}
    assert set(joints) == {"base joint", "head joint", "left foot", "right foot", "rear foot"}
    assert parts["column"] == style.ROLES["column"]
    assert parts["arm"] == style.ROLES["head"]
    assert len({*parts.values(), *joints.values()}) == 8


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
