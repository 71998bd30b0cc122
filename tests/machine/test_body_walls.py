"""Walls that give, against rings and by convergence in the section, in the height and in the shapes."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import scipy.sparse
import scipy.sparse.linalg
from numpy.testing import assert_allclose

from strongback.machine.body import PadSpec, _kron, body_stiffness, span_meshes
from strongback.machine.body.extrude import extrusion, pattern, rigid_fields
from strongback.machine.body.heights import Grading, height_elements
from strongback.materials import Material
from strongback.section.mesh import mesh
from strongback.section.outline import filled, from_rings
from strongback.section.shapes import rectangular_tube, round_tube
from strongback.section.values import Fill, SectionMesh

ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="common practice, no source")


def test_ring_is_squeezed_by_two_opposite_pads() -> None:
    """Diameter of a thin ring under P: (pi/4 - 2/pi) P R³ / EI, with hoop and shear pi/4 P R (1/EA + 1.2/GA).

    Timoshenko, Strength of Materials, Part I, 3rd ed., art. 80. A long tube bends its wall in plane strain, E/(1 - nu²).
    The pads are one chord of 1/42 turn wide, a quarter of it in use.
    """
    R, t, length, n = 0.03, 0.003, 0.1, 42
    section = mesh(round_tube(ALUMINIUM, 2.0 * R + t, t, count=n), size=0.004)
    chord = 2.0 * (R + t / 2.0) * math.sin(math.pi / n)
    y = float(section.nodes[:, 1].max())
    pads = [
        PadSpec(
            name=name,
            centre=(0.0, side * y, length / 2.0),
            normal=(0.0, side),
            size=(chord / 4.0, length),
            stiffness=1e15,
            tangential=1e-6,
        )
        for name, side in (("top", 1.0), ("bottom", -1.0))
    ]
    body = body_stiffness([(section, length)], base="free", pads=pads, finest=0.02, growth=3.0)
    squeeze = np.linalg.inv(body.stiffness[6:, 6:])[1, 1] * length
    E, G = ALUMINIUM.E, ALUMINIUM.G
    bending = R**3 / (E / (1.0 - ALUMINIUM.nu**2) * t**3 / 12.0) * (math.pi / 4.0 - 2.0 / math.pi)
    assert_allclose(squeeze, bending + math.pi / 4.0 * R / t * (1.0 / E + 1.2 / G), rtol=0.03)


PAD = PadSpec(name="head", centre=(0.0, 0.03, 0.12), normal=(0.0, 1.0), size=(0.04, 0.04))


def deflections(section: SectionMesh, finest: float, growth: float, tolerance: float = 1e-4) -> np.ndarray:
    body = body_stiffness([(section, 0.2)], pads=[PAD], finest=finest, growth=growth, tolerance=tolerance)
    return np.asarray(np.diag(np.linalg.inv(body.stiffness[6:, 6:])))


def test_section_shapes_reach_the_answer_of_the_whole_mesh() -> None:
    """The same mesh solved with every one of its unknowns, plane by plane, without section shapes."""
    section = mesh(rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.008), size=0.03)
    made = extrusion(pattern([(section, 0.2)]), [PAD], [0.0], Grading(0.012, 1.0))
    planes, size = len(made.planes), 3 * len(section.nodes)
    lengths = np.diff(made.ends)
    K = _kron.extruded(_kron.height_matrices(lengths, 0, planes), made.sections[0])
    bed = made.under(0)
    height = _kron.height_matrices(lengths[bed], 2 * int(bed[0]), planes)[0]
    springs = scipy.sparse.kron(height, made.contacts[0].section, format="csr")
    at, rise = rigid_fields(section.nodes, np.array(PAD.centre))
    rigid = np.vstack([at + (s - PAD.centre[2]) * rise for s in made.planes])
    load = springs @ rigid
    free = (K + springs)[size:, size:].tocsc()
    moved = scipy.sparse.linalg.spsolve(free, load[size:])
    exact = np.diag(np.linalg.inv(rigid.T @ load - load[size:].T @ moved))
    for tolerance, within in ((1e-2, 3e-2), (5e-4, 2e-3), (1e-6, 5e-6)):
        found = deflections(section, 0.012, 1.0, tolerance)
        assert np.all(found <= exact * (1.0 + 1e-9)), "fewer shapes must be stiffer"
        assert_allclose(found, exact, rtol=within)


@pytest.mark.slow
def test_pad_deflection_converges_in_section_and_height() -> None:
    """At finite contact stiffness; each step closer, all from the stiff side."""
    outline = rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.008)
    steps = [
        deflections(span_meshes([outline], size=0.03, rounds=rounds)[0], finest, growth)
        for rounds, finest, growth in ((0, 0.016, 1.0), (1, 0.008, 0.7), (2, 0.004, 0.5))
    ]
    first, second = (steps[i + 1] / steps[i] - 1.0 for i in range(2))
    print("change of deflections with mesh and height, %:", np.round(1e2 * np.array([first, second]), 2))
    assert np.all(first > 0.0)
    assert np.all(second > 0.0)
    assert np.all(second < 0.7 * first)
    left = second**2 / (first - second)  # to the limit, by Aitken's extrapolation
    assert left.max() < 0.01


def test_heights_grow_away_from_features_and_keep_cuts() -> None:
    ends = height_elements(np.array([0.0, 0.1, 0.3]), np.array([0.1]), Grading(0.005, 0.5))
    lengths = np.diff(ends)
    assert {0.0, 0.1, 0.3} <= set(ends.tolist())
    at = int(np.argmin(np.abs(ends - 0.1)))
    assert np.all(np.diff(lengths[at:]) > 0.0)
    assert np.all(np.diff(lengths[:at]) < 0.0)
    assert lengths[at] == pytest.approx(0.005, rel=0.5)


def test_filled_corner_of_two_cells_is_stiffer_where_it_is_filled() -> None:
    """Filling the left cell only draws the twist centre to the left: the pad then yaws the other way."""
    box = [(-0.04, -0.03), (0.04, -0.03), (0.04, 0.03), (-0.04, 0.03)]
    left = [(-0.032, -0.022), (-0.004, -0.022), (-0.004, 0.022), (-0.032, 0.022)]
    right = [(-x, y) for x, y in reversed(left)]
    empty = from_rings("two", ALUMINIUM, box, {"left": left, "right": right})
    coupling = []
    for name in ("left", "right"):
        section = span_meshes([filled(empty, {name: Fill(material=MINERAL)})], size=0.03, rounds=0)[0]
        body = body_stiffness([(section, 0.2)], pads=[PAD], finest=0.012, growth=1.0, tolerance=1e-4)
        coupling.append(np.linalg.inv(body.stiffness[6:, 6:])[1, 5])
    assert coupling[0] * coupling[1] < 0.0
    assert_allclose(coupling[0], -coupling[1], rtol=0.05)


def test_contact_of_a_softer_pad_on_lands_beside_a_slot() -> None:
    """Only the lands carry: the area found is that of the wall under the pad without the mouth of the slot."""
    outer = [
        (-0.04, -0.03),
        (0.04, -0.03),
        (0.04, 0.03),
        (0.005, 0.03),
        (0.005, 0.024),
        (-0.005, 0.024),
        (-0.005, 0.03),
    ]
    slotted = from_rings("slotted", ALUMINIUM, [*outer, (-0.04, 0.03)])
    pad = dataclasses.replace(PAD, stiffness=1e11)
    body = body_stiffness([(mesh(slotted, size=0.02), 0.2)], pads=[pad], finest=0.02, growth=1.0)
    assert_allclose(body.contact_areas, [(0.04 - 0.01) * 0.04], rtol=1e-9)
