"""Natural frequencies against published roots and benchmarks; the source stands in each test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import cantilever, frame

from strongback.errors import MachineError
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.values import RIGID, PointMass, Support
from strongback.machine.vibration import mass_matrix, modes, total_mass
from strongback.section.values import stiffness_from_constants

pytestmark = pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")  # sizes of textbooks

# A slender bar, bending about x ten times softer than about y, shear and stretch out of the way.
SLENDER = stiffness_from_constants(
    name="bar", EA=1e12, EIx=1e3, EIy=1e8, GJ=1e8, kGAx=1e12, kGAy=1e12, mass_per_length=2.0
)


def frequencies(machine, count=6):
    loop = assemble(machine, parts_of(machine), pieces=24)
    return [mode.frequency for mode in modes(loop, count)]


def euler(root, length, EI=1e3, m=2.0):
    return (root / length) ** 2 / (2 * np.pi) * np.sqrt(EI / m)


def test_cantilever_roots():
    """Blevins, Formulas for Natural Frequency and Mode Shape, 1979, Table 8-1: cos x cosh x = -1."""
    found = frequencies(cantilever(SLENDER, 1.0), 3)
    roots = [1.8751040687119611, 4.694091132974154, 7.854757438237601]
    assert found == pytest.approx([euler(r, 1.0) for r in roots], rel=2e-3)
    assert found[0] == pytest.approx(euler(roots[0], 1.0), rel=2e-5)


@pytest.mark.parametrize(("ratio", "root"), [(0.1, 1.72274152), (1.0, 1.24791741)])
def test_cantilever_with_a_tip_mass(ratio, root):
    """Exact frequency equation of a cantilever with a tip mass (Blevins 1979, Table 8-8 has its approximation)."""
    machine = cantilever(SLENDER, 1.0)
    tip = PointMass(name="tip", part="column", at=(0.0, 0.0, 1.0), mass=ratio * 2.0)
    assert frequencies(replace(machine, masses=(tip,)), 1)[0] == pytest.approx(euler(root, 1.0), rel=2e-5)


def test_clamped_and_pinned():
    """Blevins 1979, Table 8-1: tan x = tanh x, 3.9266 and 7.0686."""
    machine = cantilever(SLENDER, 1.0)
    pin = Support(name="pin", part="column", at=(0.0, 0.0, 1.0), stiffness=(0.0, RIGID, 0.0, 0.0, 0.0, 0.0))
    found = frequencies(replace(machine, supports=(*machine.supports, pin)), 2)
    assert found == pytest.approx([euler(r, 1.0) for r in (3.9266023120479185, 7.068582745628732)], rel=1e-3)


def test_axial_bar():
    """c / 4L with c = sqrt(E/rho) = 5000 m/s: 125 Hz, elementary."""
    bar = stiffness_from_constants(
        name="bar", EA=200e9, EIx=1e14, EIy=1e14, GJ=1e14, kGAx=1e14, kGAy=1e14, mass_per_length=8000.0
    )
    assert frequencies(cantilever(bar, 10.0), 1)[0] == pytest.approx(125.0, rel=5e-4)


def test_deep_simply_supported_beam():
    """NAFEMS, Selected Benchmarks for Natural Frequency Analysis, 1987, test FV5, Saint-Venant torsion variant."""
    b, E, rho = 2.0, 200e9, 8000.0
    G, A, I = E / 2.6, b * b, b**4 / 12
    deep = stiffness_from_constants(
        name="square",
        EA=E * A,
        EIx=E * I,
        EIy=E * I,
        GJ=G * 0.140577015 * b**4,
        kGAx=G * A * 5 / 6,
        kGAy=G * A * 5 / 6,
        mass_per_length=rho * A,
        inertia_per_length=(rho * I, rho * I, 0.0),
    )
    machine = cantilever(deep, 10.0, ends=("free", "free"), stiffness=(RIGID, RIGID, RIGID, 0.0, 0.0, RIGID))
    far = Support(
        name="far", part="column", at=(0.0, 0.0, 10.0), stiffness=(RIGID, RIGID, 0.0, 0.0, 0.0, 0.0)
    )
    found = frequencies(replace(machine, supports=(*machine.supports, far)), 9)
    expected = [42.65, 42.65, 71.2, 125.0, 148.15, 148.15, 213.61, 283.47, 283.47]
    assert found == pytest.approx(expected, rel=4e-3)


def test_two_masses_on_an_arm():
    """NAFEMS 1987, test FV4: cantilever with off-centre point masses of 10 t and 1 t.

    The published targets are those of a slender beam: no shear, no rotary inertia of the sections.
    """
    d, E, rho = 0.5, 200e9, 8000.0
    A, I = np.pi * d**2 / 4, np.pi * d**4 / 64
    round_bar = stiffness_from_constants(
        name="round",
        EA=E * A,
        EIx=E * I,
        EIy=E * I,
        GJ=E / 2.6 * 2 * I,
        kGAx=1e6 * E * A,
        kGAy=1e6 * E * A,
        mass_per_length=rho * A,
    )
    machine = cantilever(round_bar, 10.0)
    masses = (
        PointMass(name="heavy", part="column", at=(0.0, 2.0, 10.0), mass=10e3),
        PointMass(name="light", part="column", at=(0.0, -2.0, 10.0), mass=1e3),
    )
    found = frequencies(replace(machine, masses=masses), 6)
    assert found == pytest.approx([1.723, 1.727, 7.413, 9.972, 18.155, 26.957], rel=4e-3)


def test_pin_ended_cross():
    """NAFEMS 1987, test FV2: eight arms of 5 m, in plane, ends pinned; 11.336 Hz, seven of 17.709, 45.345."""
    side, E, rho = 0.125, 200e9, 8000.0
    A, I = side**2, side**4 / 12
    # In plane only: what bends out of it is made stiff.
    bar = stiffness_from_constants(
        name="bar",
        EA=E * A,
        EIx=1e9 * E * I,
        EIy=E * I,
        GJ=1e9 * E * I,
        kGAx=1e4 * E * A,
        kGAy=1e4 * E * A,
        mass_per_length=rho * A,
    )
    angles = np.arange(8) * np.pi / 4
    nodes = [(0, 0, 0), *((5 * np.cos(t), 5 * np.sin(t), 0) for t in angles)]

    def in_plane(a, b):  # section x in the plane of the cross
        s = (b - a) / np.linalg.norm(b - a)
        return tuple(np.cross((0.0, 0.0, 1.0), s))

    pins = tuple(
        Support(
            name=f"pin {i}",
            part=f"node {i}",
            at=tuple(float(v) for v in nodes[i]),
            stiffness=(RIGID, RIGID, 0.0, 0.0, 0.0, 0.0),
        )
        for i in range(1, 9)
    )
    flat = (
        Support(
            name="plane", part="node 0", at=(0.0, 0.0, 0.0), stiffness=(0.0, 0.0, RIGID, RIGID, RIGID, 0.0)
        ),
    )
    machine = frame(nodes, [(0, i) for i in range(1, 9)], bar, [], x_axis=in_plane, supports=(*pins, *flat))
    found = frequencies(machine, 9)
    assert found[0] == pytest.approx(11.336, rel=1e-3)
    assert found[1:8] == pytest.approx([17.709] * 7, rel=2e-3)
    assert found[8] == pytest.approx(45.345, rel=2e-3)


def test_base_spring_and_tip_mass():
    """(1/2 pi) sqrt(k/M), elementary: 76.5351 Hz for 10 kg on the column of 0.043243296 mm under 100 N."""
    EI = 70e9 * 2710610e-12
    light = stiffness_from_constants(name="tube", EA=1e12, EIx=EI, EIy=1e9, GJ=1e9, kGAx=1e12, kGAy=1e12)
    machine = cantilever(light, 0.4, stiffness=(RIGID, RIGID, RIGID, 5e5, RIGID, RIGID))
    tip = PointMass(name="head", part="column", at=(0.0, 0.0, 0.4), mass=10.0)
    assert frequencies(replace(machine, masses=(tip,)), 1)[0] == pytest.approx(76.5351147, rel=1e-6)


def test_mass_is_kept(mill):
    """Moving the whole machine costs its whole mass, and turning it the moment of its centre."""
    head = PointMass(name="head", part="arm", at=(0.0, 0.2, 0.35), mass=6.0, inertia=(0.02, 0.03, 0.01))
    machine = replace(mill, masses=(head,))
    loop = assemble(machine, parts_of(machine))
    M = mass_matrix(loop)
    mass, centre = total_mass(machine, loop.parts)
    assert mass == pytest.approx(4.0 * 0.46 + 6.0, rel=1e-12)
    rigid = np.zeros((loop.size, 6))
    for line in loop.stations.values():
        for point, columns in zip(line.points, line.columns, strict=True):
            rigid[columns[:6]] = np.block([[np.eye(3), -_cross(point)], [np.zeros((3, 3)), np.eye(3)]])
    total = rigid.T @ M @ rigid
    assert total[:3, :3] == pytest.approx(mass * np.eye(3), abs=1e-9)
    assert total[:3, 3:] == pytest.approx(-mass * _cross(centre), abs=1e-9)


def _cross(p):
    return np.array([[0, -p[2], p[1]], [p[2], 0, -p[0]], [-p[1], p[0], 0.0]])


def test_nothing_has_a_mass():
    light = stiffness_from_constants(name="bar", EA=1e9, EIx=1e4, EIy=1e4, GJ=1e4, kGAx=1e8, kGAy=1e8)
    machine = cantilever(light, 0.4)
    with pytest.raises(MachineError, match="nothing in the machine has a mass"):
        modes(assemble(machine, parts_of(machine)))
