"""Outline against scale."""

from __future__ import annotations

import dataclasses
import math

import pytest

from strongback.errors import OutlineError
from strongback.materials import Material
from strongback.section import shapes
from strongback.section.outline import area_of, filled
from strongback.section.values import Fill, Outline, Wall
from strongback.section.weigh import faces_shifted, weigh_check

METAL = Material(name="metal", E=70e9, nu=0.33, density=2700.0, source="EN 1999-1-1, 3.2.5")
TUBE = shapes.rectangular_tube(METAL, 0.08, 0.12, 0.004)


def test_mass_of_a_tube() -> None:
    # 80 x 120 x 4: 1536 mm² (elementary) of 2700 kg/m³ (EN 1999-1-1, 3.2.5): 4.147 kg/m.
    found = weigh_check(TUBE, 4.147)
    assert found.computed == pytest.approx(4.1472, rel=1e-9)
    assert found.met
    assert "agree within 2%" in found.verdict


@pytest.mark.parametrize("wall", [0.0032, 0.0038, 0.0045, 0.0055])
def test_wall_that_reconciles(wall: float) -> None:
    # Walls of another thickness on the same mid-line: faces move by half of the change each.
    mid = 0.08 - 0.004, 0.12 - 0.004
    weighed = shapes.rectangular_tube(METAL, mid[0] + wall, mid[1] + wall, wall)
    found = weigh_check(TUBE, area_of(weighed) * METAL.density)
    assert found.wall_change == pytest.approx(wall - 0.004, abs=2e-9)
    assert not found.met
    assert ("thicker" if wall > 0.004 else "thinner") in found.verdict
    moved = faces_shifted(TUBE, found.wall_change / 2.0)
    assert area_of(moved) == pytest.approx(area_of(weighed), rel=1e-6)
    assert weigh_check(moved, found.measured).met


def test_a_forgotten_web_is_not_explained_by_the_wall() -> None:
    found = weigh_check(TUBE, 8.0)
    assert found.wall_change is None
    assert "a web left out" in found.verdict


def test_fill_is_not_weighed() -> None:
    assert weigh_check(filled(TUBE, {"inside": Fill(material=METAL)}), 4.147).computed == pytest.approx(
        4.1472
    )


def test_two_walls_of_one_metal_are_as_one() -> None:
    channel = shapes.channel(METAL, 0.06, 0.04, 0.004, 0.004).walls[0]
    plate = Wall(
        name="plate", material=METAL, ring=((0.04, -0.03), (0.044, -0.03), (0.044, 0.03), (0.04, 0.03))
    )
    pair = Outline(name="closed", walls=(channel, plate))
    tube = shapes.rectangular_tube(METAL, 0.044, 0.06, 0.004)
    one, other = weigh_check(pair, 2.5), weigh_check(tube, 2.5)
    assert one.computed == pytest.approx(other.computed)
    assert one.wall_change == pytest.approx(other.wall_change, abs=1e-8)


@pytest.mark.parametrize("measured", [0.0, -1.0, math.nan, math.inf])
def test_absurd_scale_readings(measured: float) -> None:
    with pytest.raises(OutlineError, match="kg/m must be above 0"):
        weigh_check(TUBE, measured)


def test_absurd_allowance() -> None:
    with pytest.raises(OutlineError, match="must not be negative"):
        weigh_check(TUBE, 4.0, allowed=-0.1)


@pytest.mark.parametrize("shift", [-0.0021, 0.05, math.nan])
def test_faces_that_cannot_move_so_far(shift: float) -> None:
    with pytest.raises(OutlineError, match=r"nothing is left|reaches outside|touches|not a number"):
        faces_shifted(TUBE, shift)


def test_faces_of_several_walls_are_not_moved() -> None:
    two = dataclasses.replace(TUBE, walls=(*TUBE.walls, *TUBE.walls))
    with pytest.raises(OutlineError, match="one wall only"):
        faces_shifted(two, 1e-4)
