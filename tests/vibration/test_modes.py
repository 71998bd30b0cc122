"""Natural frequencies against published roots and benchmarks; the source stands in each test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from exact_dynamics import modes_below
from machines import cantilever, frame, small_mill

from strongback.errors import MachineError
from strongback.machine.mass import total_mass
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.values import GROUND, RIGID, Machine, Member, Place, PointMass, Span, Support
from strongback.project import demo_folder, read
from strongback.section.values import stiffness_from_constants
from strongback.vibration.model import dynamics
from strongback.vibration.modes import modes, modes_of

pytestmark = pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")  # sizes of textbooks

# A slender bar, bending about x ten times softer than about y, shear and stretch out of the way.
SLENDER = stiffness_from_constants(
    name="bar", EA=1e12, EIx=1e3, EIy=1e8, GJ=1e8, kGAx=1e12, kGAy=1e12, mass_per_length=2.0
)

HEAD = PointMass(name="head", part="arm", at=(0.0, 0.2, 0.35), mass=6.0, inertia=(0.02, 0.03, 0.01))


def frequencies(machine, count=6):
    return [mode.frequency for mode in modes(machine, parts_of(machine), count)]


def euler(root, length, EI=1e3, m=2.0):
    return (root / length) ** 2 / (2 * np.pi) * np.sqrt(EI / m)


def test_cantilever_roots():
    """Blevins, Formulas for Natural Frequency and Mode Shape, 1979, Table 8-1: cos x cosh x = -1."""
    found = frequencies(cantilever(SLENDER, 1.0), 3)
    roots = [1.8751040687119611, 4.694091132974154, 7.854757438237601]
    assert found == pytest.approx([euler(r, 1.0) for r in roots], rel=1e-6)


@pytest.mark.parametrize(("ratio", "root"), [(0.1, 1.72274152), (1.0, 1.24791741)])
def test_cantilever_with_a_tip_mass(ratio, root):
    """Exact frequency equation of a cantilever with a tip mass (Blevins 1979, Table 8-8 has its approximation)."""
    machine = cantilever(SLENDER, 1.0)
    tip = PointMass(name="tip", part="column", at=(0.0, 0.0, 1.0), mass=ratio * 2.0)
    assert frequencies(replace(machine, masses=(tip,)), 1)[0] == pytest.approx(euler(root, 1.0), rel=1e-6)


def test_clamped_and_pinned():
    """Blevins 1979, Table 8-1: tan x = tanh x, 3.9266 and 7.0686."""
    machine = cantilever(SLENDER, 1.0)
    pin = Support(name="pin", part="column", at=(0.0, 0.0, 1.0), stiffness=(0.0, RIGID, 0.0, 0.0, 0.0, 0.0))
    found = frequencies(replace(machine, supports=(*machine.supports, pin)), 2)
    assert found == pytest.approx([euler(r, 1.0) for r in (3.9266023120479185, 7.068582745628732)], rel=1e-6)


def test_axial_bar():
    """c / 4L with c = sqrt(E/rho) = 5000 m/s: 125 Hz, elementary."""
    bar = stiffness_from_constants(
        name="bar", EA=200e9, EIx=1e14, EIy=1e14, GJ=1e14, kGAx=1e14, kGAy=1e14, mass_per_length=8000.0
    )
    machine = cantilever(bar, 10.0)
    mode = modes(machine, parts_of(machine), 1)[0]
    assert mode.frequency == pytest.approx(125.0, rel=mode.error)
    assert mode.error < 1e-6


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
        kGAx=G * A * 0.8497,
        kGAy=G * A * 0.8497,
        mass_per_length=rho * A,
        inertia_per_length=(rho * I, rho * I, 0.0),
    )
    machine = cantilever(deep, 10.0, ends=("free", "free"), stiffness=(RIGID, RIGID, RIGID, 0.0, 0.0, RIGID))
    far = Support(
        name="far", part="column", at=(0.0, 0.0, 10.0), stiffness=(RIGID, RIGID, 0.0, 0.0, 0.0, 0.0)
    )
    found = frequencies(replace(machine, supports=(*machine.supports, far)), 9)
    expected = [42.65, 42.65, 71.2, 125.0, 148.15, 148.15, 213.61, 283.47, 283.47]
    assert found == pytest.approx(expected, rel=6e-4)


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


def test_mass_is_kept():
    """Moving the whole machine costs its whole mass, and turning it the moment of its centre."""
    machine = replace(small_mill(), masses=(HEAD,))
    model = dynamics(machine, parts_of(machine))
    mass, centre = total_mass(machine, model.assembly.parts)
    assert mass == pytest.approx(4.0 * 0.46 + 6.0, rel=1e-12)
    rigid = np.zeros((model.assembly.layout.size, 6))
    for line in model.assembly.layout.stations.values():
        for point, columns in zip(line.points, line.columns, strict=True):
            rigid[columns[:6]] = np.block([[np.eye(3), -_cross(point)], [np.zeros((3, 3)), np.eye(3)]])
    rigid[model.assembly.layout.blocks["bed"]] = np.block(
        [[np.eye(3), -_cross((0.0, 0.1, -0.05))], [np.zeros((3, 3)), np.eye(3)]]
    )
    own = model.free.T @ rigid
    assert model.free @ own == pytest.approx(rigid, abs=1e-12)  # no rigid joint opens
    total = own.T @ model.mass @ own
    assert total[:3, :3] == pytest.approx(mass * np.eye(3), rel=1e-12, abs=1e-12)
    assert total[:3, 3:] == pytest.approx(-mass * _cross(centre), rel=1e-12, abs=1e-12)


def _cross(p):
    return np.array([[0, -p[2], p[1]], [p[2], 0, -p[0]], [-p[1], p[0], 0.0]])


def test_nothing_has_a_mass():
    light = stiffness_from_constants(name="bar", EA=1e9, EIx=1e4, EIy=1e4, GJ=1e4, kGAx=1e8, kGAy=1e8)
    machine = cantilever(light, 0.4)
    with pytest.raises(MachineError, match="nothing in the machine has a mass"):
        modes(machine, parts_of(machine))


def free_tube():
    """A Timoshenko beam with the constants of an aluminium tube 80 x 120 x 4 mm, 520 mm long, which nothing holds."""
    tube = stiffness_from_constants(
        name="tube",
        EA=70e9 * 1536e-6,
        EIx=214785.0,
        EIy=113726.5,
        GJ=1.2e5,
        kGAx=12101537.0,
        kGAy=21983134.0,
        mass_per_length=4.1472,
        inertia_per_length=(0.00834417, 0.00441815, 0.0),
    )
    post = Member(
        name="post",
        start=(0.0, 0.0, 0.0),
        end=(0.0, 0.0, 0.52),
        x_axis=(1.0, 0.0, 0.0),
        spans=(Span(section="tube", length=0.52),),
    )
    top = (0.0, 0.0, 0.52)
    return Machine(
        name="tube",
        sections=(("tube", tube),),
        members=(post,),
        tool=Place(part="post", at=top),
        work=Place(part=GROUND, at=top),
    ), Parts(sections={"tube": tube})


def test_a_free_timoshenko_beam():
    """Roots of the exact Timoshenko determinant, free at both ends, computed apart: two sideways, two fore and aft."""
    machine, parts = free_tube()
    found = modes(machine, parts, 12)
    assert [mode.rigid != "" for mode in found] == [True] * 6 + [False] * 12
    assert "one of 6 motions" in found[0].rigid
    assert [mode.frequency for mode in found[:6]] == [0.0] * 6
    elastic = [mode.frequency for mode in found[6:]]
    for root in (1739.11, 3523.82, 2284.52, 4551.24):
        assert min(abs(f / root - 1.0) for f in elastic) < 1e-5
    # Rods: n/2L sqrt(EA/m) and n/2L sqrt(GJ/(rho Ip)), elementary.
    for root in (4896.03, 2948.04, 5896.08, 8844.12):
        f = min(elastic, key=lambda f: abs(f - root))
        assert f == pytest.approx(root, rel=1e-3) or root > elastic[-1]


def mill_with_head():
    """Unsymmetric profile: warping, a shear centre apart, coupled shear."""
    machine = replace(small_mill(), masses=(HEAD,))
    return machine, parts_of(machine)


def demo_of_beams():
    machine = as_beams(read(demo_folder()).machine)
    return machine, parts_of(machine)


@pytest.mark.parametrize("made", [mill_with_head, demo_of_beams, free_tube])
def test_every_frequency_is_exact_within_its_error_and_none_is_missed(made):
    """The count of modes from the exact dynamic stiffness (Wittrick & Williams 1971), below and above each."""
    machine, parts = made()
    found = modes(machine, parts, 12)
    rigid = sum(mode.rigid != "" for mode in found)
    assert len(found) == 12 + rigid
    for k, mode in enumerate(found[rigid:], rigid):
        assert mode.error < 1e-3
        assert modes_below(machine, parts, mode.frequency * (1.0 - mode.error)) <= k, mode
        assert modes_below(machine, parts, mode.frequency * (1.0 + mode.error)) >= k + 1, mode


def test_the_error_is_told_from_the_degree():
    """With too few bubbles the error is large and says so: the count of the exact stiffness is kept in it."""
    machine, parts = free_tube()
    found = modes_of(dynamics(machine, parts, degree=8), 12)
    assert found[-1].error > 1e-3
    for k, mode in enumerate(found[6:], 6):
        assert modes_below(machine, parts, mode.frequency * (1.0 - mode.error)) <= k
        assert modes_below(machine, parts, mode.frequency * (1.0 + mode.error)) >= k + 1


def test_turning_the_machine_changes_no_frequency():
    machine = replace(small_mill(), masses=(replace(HEAD, inertia=(0.02, 0.02, 0.02)),))
    parts = parts_of(machine)
    turn, _ = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))
    turn *= np.linalg.det(turn)
    one, two = modes(machine, parts, 8), modes(turned(machine, turn), parts, 8)
    assert [m.frequency for m in two] == pytest.approx([m.frequency for m in one], rel=1e-9)


def turned(machine, turn):
    def point(p):
        return tuple(float(v) for v in turn @ np.asarray(p))

    def springs(holder):
        return replace(holder, at=point(holder.at), axes=tuple(point(a) for a in holder.axes))

    return replace(
        machine,
        members=tuple(
            replace(m, start=point(m.start), end=point(m.end), x_axis=point(m.x_axis))
            for m in machine.members
        ),
        blocks=tuple(replace(b, at=point(b.at)) for b in machine.blocks),
        joints=tuple(springs(j) for j in machine.joints),
        supports=tuple(springs(s) for s in machine.supports),
        masses=tuple(replace(m, at=point(m.at)) for m in machine.masses),
        pulls=(),
        gauges=(),
        tool=replace(machine.tool, at=point(machine.tool.at)),
        work=replace(machine.work, at=point(machine.work.at)),
    )


def test_energies_by_part():
    """Shares add to one; a spring that is all that gives holds all of the strain, the mass all of the motion."""
    machine = replace(small_mill(), masses=(HEAD,))
    for mode in modes(machine, parts_of(machine), 6):
        assert sum(share for _, share in mode.energy) == pytest.approx(1.0, abs=1e-12)
        assert sum(share for _, share in mode.kinetic) == pytest.approx(1.0, abs=1e-12)
        assert {name for name, _ in mode.kinetic} == {"head", "column", "arm"}


def test_part_that_is_free_and_has_no_mass():
    """The bed of the small mill has no mass: without feet it cannot be told how it moves."""
    machine = replace(small_mill(), supports=(), masses=(HEAD,))
    loose = replace(machine, joints=tuple(j for j in machine.joints if j.name != "base joint"))
    with pytest.raises(MachineError, match="nothing holds has no mass"):
        modes(loose, parts_of_loose(loose))


def parts_of_loose(machine):
    return Parts(sections=dict(machine.sections))
