"""The figure of stress: panels, units, colours that end where stated, arrows against each other in an open wall."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.collections import TriMesh
from matplotlib.figure import Figure
from matplotlib.quiver import Quiver
from sections import ALUMINIUM, two_cells

from strongback.section import shapes
from strongback.section.stress import LOADS, SectionStress, section_stress
from strongback.views import style
from strongback.views.stress_plot import stress_figure


@pytest.fixture(scope="module")
def found() -> SectionStress:
    return section_stress(two_cells())


@pytest.fixture(scope="module")
def figure(found: SectionStress) -> Figure:
    return stress_figure(found, "two cells")


def fields(figure: Figure) -> list[TriMesh]:
    return [c for a in figure.axes for c in a.collections if isinstance(c, TriMesh)]


def test_three_panels_with_units(figure: Figure) -> None:
    titles = [a.get_title(loc="left") or a.get_title() for a in figure.axes]
    assert [t for t in titles if t] == [
        "shear stress, torque",
        "direct stress, moment about x",
        "direct stress, moment about y",
    ]
    labels = [a.get_xlabel() for a in figure.axes]
    assert sum("MPa per N m, largest" in label for label in labels) == 3
    assert labels.count("x [mm]") == 3


def test_colours_carry_the_stress(figure: Figure, found: SectionStress) -> None:
    shear, about_x, about_y = fields(figure)
    assert (shear.get_cmap().name, about_x.get_cmap().name) == (style.FIELD, style.SIGNED.name)
    for field, load, kind in ((shear, "T", "shear"), (about_x, "Mx", "direct"), (about_y, "My", "direct")):
        k = LOADS.index(load)
        values = found.direct[k] if kind == "direct" else np.hypot(*np.moveaxis(found.shear[k], 2, 0))
        shown = np.asarray(field.get_array(), dtype=float)
        some = np.abs(values.ravel()) > 1e-6 * np.abs(values).max()  # outer corners have no shear
        power = np.median(np.log10(np.abs(shown[some] / (values.ravel()[some] * 1e-6))))
        assert power == pytest.approx(round(power), abs=1e-9)  # MPa times a power of ten, as the label says
        assert np.allclose(shown, values.ravel() * 1e-6 * 10.0 ** round(power))
        low, high = field.get_clim()
        assert high == pytest.approx(found.peak(load, kind).value * 1e-6 * 10.0 ** round(power))
        assert low == (0.0 if kind == "shear" else -high)


def quiver_of(figure: Figure) -> Quiver:
    return next(c for a in figure.axes for c in a.collections if isinstance(c, Quiver))


def test_arrows_follow_the_shear_flow(figure: Figure) -> None:
    quiver = quiver_of(figure)
    moments = quiver.X * quiver.V - quiver.Y * quiver.U
    assert quiver.N > 40
    assert moments.sum() > 0.0  # a positive torque turns counter-clockwise


def test_arrows_run_against_each_other_in_an_open_wall() -> None:
    quiver = quiver_of(stress_figure(section_stress(shapes.channel(ALUMINIUM, 0.08, 0.04, 0.003, 0.003))))
    web = np.abs(quiver.Y) < 25.0
    inner, outer = web & (quiver.X > 2.9) & (quiver.X < 3.1), web & (quiver.X < 0.1)
    assert inner.sum() > 5
    assert outer.sum() > 5
    assert np.all(quiver.V[inner] > 0.0)
    assert np.all(quiver.V[outer] < 0.0)
