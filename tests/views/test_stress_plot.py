"""The figure of stress: panels, units, colours that end where stated."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.quiver import Quiver
from sections import two_cells

from strongback.section.mesh import mesh
from strongback.section.stress import stress
from strongback.views import style
from strongback.views.stress_plot import stress_figure

MESH = mesh(two_cells())


@pytest.fixture(scope="module")
def figure() -> Figure:
    return stress_figure(MESH, stress(MESH), "two cells")


def faces(figure: Figure) -> list[PolyCollection]:
    return [
        c
        for a in figure.axes
        for c in a.collections
        if isinstance(c, PolyCollection) and len(c.get_paths()) == len(MESH.triangles)
    ]


def test_three_panels_with_units(figure: Figure) -> None:
    titles = [a.get_title(loc="left") or a.get_title() for a in figure.axes]
    assert [t for t in titles if t] == [
        "shear stress, torque",
        "direct stress, moment about x",
        "direct stress, moment about y",
    ]
    labels = [a.get_xlabel() for a in figure.axes]
    assert sum("MPa per N m" in label for label in labels) == 3
    assert labels.count("x [mm]") == 3


def test_colours_carry_the_stress(figure: Figure) -> None:
    shear, about_x, about_y = faces(figure)
    assert (shear.get_cmap().name, about_x.get_cmap().name) == (style.FIELD, style.SIGNED.name)
    found = stress(MESH)
    for face, values in (
        (shear, np.hypot(*found.torque.T)),
        (about_x, found.bending_x),
        (about_y, found.bending_y),
    ):
        shown = np.asarray(face.get_array(), dtype=float)
        power = np.log10(shown[0] / (values[0] * 1e-6))
        assert power == pytest.approx(round(power), abs=1e-9)  # MPa times a power of ten, as the label says
        assert np.allclose(shown, values * 1e-6 * 10.0 ** round(power))
    low, high = about_x.get_clim()
    assert low == -high
    assert 1.0 <= high < 10.0


def test_arrows_follow_the_shear_flow(figure: Figure) -> None:
    quiver = next(c for a in figure.axes for c in a.collections if isinstance(c, Quiver))
    moments = quiver.X * quiver.V - quiver.Y * quiver.U
    assert quiver.N > 40
    assert moments.sum() > 0.0  # a positive torque turns counter-clockwise
