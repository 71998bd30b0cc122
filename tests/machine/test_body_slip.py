"""Fills that slide: between bonded and free, and against the bounds of the section engine."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from strongback.errors import MachineError
from strongback.machine.body import PadSpec, SlipSpec, body_stiffness, condense, slips_of, span_meshes
from strongback.materials import Material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.slip import slip_bounds
from strongback.section.values import Bond, Fill, Insert, Outline, SectionMesh

ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="common practice, no source")
TUBE = rectangular_tube(ALUMINIUM, 0.09, 0.05, 0.006)
CELL = TUBE.cells[0].name
HEAD = PadSpec(name="head", centre=(0.0, 0.025, 0.25), normal=(0.0, 1.0), size=(0.05, 0.04))


def full(bond: Bond = "bonded") -> Outline:
    return filled(TUBE, {CELL: Fill(material=MINERAL, bond=bond)})


@pytest.fixture(scope="module")
def section() -> SectionMesh:
    return span_meshes([full()], size=0.03, rounds=0)[0]


def slip(stiffness: float) -> tuple[SlipSpec, ...]:
    return (SlipSpec(parts=(f"fill {CELL}",), stiffness=stiffness),)


def head_flexibility(section: SectionMesh, slips: tuple[SlipSpec, ...]) -> np.ndarray:
    body = body_stiffness([(section, 0.3)], pads=[HEAD], slips=slips, finest=0.015, growth=1.5)
    return np.asarray(np.diag(np.linalg.inv(body.stiffness[6:, 6:])))


@pytest.mark.slow
def test_slip_lies_between_free_and_bonded(section: SectionMesh) -> None:
    steps = [head_flexibility(section, slips) for slips in (slip(0.0), slip(1e11), slip(1e15), ())]
    for softer, stiffer in itertools.pairwise(steps[:-1]):
        assert np.all(softer > stiffer * (1.0 + 1e-6))
    assert_allclose(steps[-2], steps[-1], rtol=2e-3)


@pytest.mark.slow
@pytest.mark.parametrize("stiffness", [2e11, 5e12])
def test_twist_lies_within_the_bounds_of_the_section_engine(section: SectionMesh, stiffness: float) -> None:
    """GJ of what a longer column has more than a shorter one, against bounds from both sides on the same mesh."""
    short, long = (
        np.linalg.inv(
            body_stiffness([(section, length)], end="rigid", slips=slip(stiffness), tolerance=1e-5).stiffness[
                6:, 6:
            ]
        )[5, 5]
        for length in (0.4, 0.6)
    )
    cells = tuple(CELL if part == f"fill {CELL}" else "" for part in section.parts)
    bounds = slip_bounds(section, cells, {CELL: stiffness})
    assert 0.999 * bounds.lower < 0.2 / (long - short) < 1.001 * bounds.upper
    assert bounds.upper < 1.03 * bounds.lower


def test_bonds_of_outlines_become_slips() -> None:
    assert slips_of([TUBE, full()]) == ()
    assert slips_of([full("sliding"), TUBE]) == slip(0.0)
    assert slips_of([full(3e11)]) == slip(3e11)
    bar = Insert(
        name="bar", ring=((-0.01, -0.01), (0.01, -0.01), (0.01, 0.01), (-0.01, 0.01)), material=ALUMINIUM
    )
    cell = dataclasses.replace(
        full("sliding").cells[0], fill=Fill(material=MINERAL, bond="sliding", inserts=(bar,))
    )
    with_bar = dataclasses.replace(TUBE, cells=(cell,))
    assert slips_of([with_bar])[0].parts == (f"fill {CELL}", "insert bar")
    with pytest.raises(MachineError, match="is bonded in one span of the body and sliding in another"):
        slips_of([full(), full("sliding")])


def test_a_fill_that_no_end_holds_slides_and_stays(section: SectionMesh) -> None:
    """Two free ends: what keeps it in does not matter, and it helps less than a fill that is bonded."""
    foot = dataclasses.replace(HEAD, name="foot", centre=(0.0, -0.025, 0.05), normal=(0.0, -1.0))

    def give(slips: tuple[SlipSpec, ...]) -> np.ndarray:
        body = body_stiffness(
            [(section, 0.3)],
            base="free",
            pads=[foot, HEAD],
            slips=slips,
            finest=0.02,
            growth=1.0,
            tolerance=1e-5,
        )
        return np.asarray(np.diag(np.linalg.inv(body.stiffness[6:, 6:])))

    free = give(slip(0.0))
    assert_allclose(free, give(slip(20.0 * condense.LOOSE)), rtol=1e-3)
    assert np.all(give(()) < free)
