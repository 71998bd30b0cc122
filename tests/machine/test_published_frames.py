"""Members and frames against closed forms and worked examples; the source stands in each test."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from machines import cantilever, frame, isotropic

from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import member_forces, pull_load, solve
from strongback.machine.values import RIGID, Place, Pull, Support
from strongback.section.values import stiffness_from_constants

pytestmark = pytest.mark.filterwarnings("ignore::strongback.plausible.UnlikelySize")  # sizes of textbooks

# Aluminium tube of the group of closed forms: E 70 GPa, nu 0.33 (invented dimensions).
E, NU, A, I, AS, J = 70e9, 0.33, 1835.44e-6, 2710610e-12, 806.5e-6, 4405000e-12
G = E / (2 * (1 + NU))
TUBE = stiffness_from_constants(
    name="tube", EA=E * A, EIx=E * I, EIy=E * I, GJ=G * J, kGAx=G * AS, kGAy=G * AS
)
NO_SHEAR = stiffness_from_constants(
    name="tube", EA=E * A, EIx=E * I, EIy=E * I, GJ=G * J, kGAx=1e9 * G * A, kGAy=1e9 * G * A
)


def tip(machine, pull):
    return solve(assemble(machine, parts_of(machine)), pull)


def test_timoshenko_cantilever():
    """P L³/3EI + P L/GAs, Timoshenko beam theory: 0.0407731543 mm."""
    pull = Pull(name="y", part="column", at=(0, 0, 0.6), force=(0.0, 100.0, 0.0))
    deflection = tip(cantilever(TUBE, 0.6), pull)
    assert deflection.tool_displacement[1] == pytest.approx(0.0407731543e-3, rel=1e-8)


def test_column_on_a_base_spring():
    """P H³/3EI + P H²/k, elementary: 0.043243296 mm with k = 5e5 N m/rad; the joint owns 74 %."""
    k = 5e5
    base = (RIGID, RIGID, RIGID, k, RIGID, RIGID)
    pull = Pull(name="y", part="column", at=(0, 0, 0.4), force=(0.0, 100.0, 0.0))
    machine = cantilever(NO_SHEAR, 0.4, stiffness=base)
    assert tip(machine, pull).tool_displacement[1] == pytest.approx(0.043243296e-3, rel=1e-7)


@pytest.mark.parametrize(
    ("force", "axis", "expected"),
    [
        # P[H³/3EI + a³/3EI + a²H/GJ] and P[a³/3EI + a²H/EI + H/EA]: unit-load method
        ((100.0, 0.0, 0.0), 0, 0.0264512051e-3),
        ((0.0, 0.0, 100.0), 2, 0.0101492145e-3),
    ],
)
def test_column_and_arm(force, axis, expected):
    nodes = [(0, 0.2, 0.4), (0, 0, 0.4), (0, 0, 0)]
    machine = frame(nodes, [(2, 1), (1, 0)], NO_SHEAR, [2])
    pull = Pull(name="pull", part="node 0", at=(0, 0.2, 0.4), force=force)
    assert tip(machine, pull).tool_displacement[axis] == pytest.approx(expected, rel=1e-8)


def test_fixed_fixed_beam_with_shear():
    """P L³/192EI + P L/4GAs, Timoshenko beam theory: 0.00129966578 mm."""
    nodes = [(0, 0, 0.3), (0, 0, 0), (0, 0, 0.6)]
    machine = frame(nodes, [(1, 0), (0, 2)], TUBE, [1, 2])
    pull = Pull(name="mid", part="node 0", at=(0, 0, 0.3), force=(100.0, 0.0, 0.0))
    assert tip(machine, pull).tool_displacement[0] == pytest.approx(0.00129966578e-3, rel=1e-8)


def test_fixed_bar_under_two_torques():
    """Statics and compatibility: end torques -6.0714 and -8.9286 kip ft (worked in consistent units)."""
    bar = stiffness_from_constants(name="bar", EA=1e6, EIx=1e3, EIy=1e3, GJ=1e3, kGAx=1e6, kGAy=1e6)
    nodes = [(0, 0, 3), (0, 0, 11), (0, 0, 0), (0, 0, 14)]
    machine = frame(nodes, [(2, 0), (0, 1), (1, 3)], bar, [2, 3])
    loop = assemble(machine, parts_of(machine))
    pulls = [
        Pull(name="T1", part="node 0", at=(0, 0, 3), couple=(0, 0, 5.0)),
        Pull(name="T2", part="node 1", at=(0, 0, 11), couple=(0, 0, 10.0)),
    ]
    both = [dict(solve(loop, pull).reactions) for pull in pulls]
    ends = [sum(reactions[name][5] for reactions in both) for name in ("support 2", "support 3")]
    assert ends == pytest.approx([-6.071428571428571, -8.928571428571429], rel=1e-9)


def loaded(machine, loads):
    """Motions of the blocks under forces and couples on them."""
    loop = assemble(machine, parts_of(machine))
    total = np.zeros(loop.size)
    places = {block.name: block.at for block in machine.blocks}
    for node, force, couple in loads:
        total += pull_load(loop, Pull(name="load", part=node, at=places[node], force=force, couple=couple))
    motions, _ = loop.solve(total[:, None])
    return {name: motions[columns, 0] for name, columns in loop.blocks.items()}


def test_space_frame_of_three_members():
    """Ferreira, MATLAB Codes for Finite Element Analysis, Springer 2009, Sec. 8.3 (units kN, m)."""
    bar = isotropic(210e6, 84e6, 0.02, 1e-4, 2e-4, 5e-5)

    def x_axis(
        a, b
    ):  # Iz governs bending in the local x-y plane; local y is global Y, or global X for the third
        return (1.0, 0.0, 0.0) if abs((b - a)[1]) > 0.5 else (0.0, 1.0, 0.0)

    nodes = [(0, 0, 0), (3, 0, 0), (0, 0, -3), (0, -4, 0)]
    machine = frame(nodes, [(0, 1), (0, 2), (0, 3)], bar, [1, 2, 3], x_axis=x_axis)
    moved = loaded(machine, [("node 0", (-10.0, 0.0, 20.0), (0.0, 0.0, 0.0))])["node 0"]
    expected = [-7.05e-6, -7e-8, 1.418e-5, 1.45e-6, 1.75e-6, 1.14e-6]
    assert moved == pytest.approx(expected, rel=5e-3, abs=5e-9)


def test_space_frame_of_four_members():
    """Geometry and loads after McGuire, Gallagher & Ziemian, Matrix Structural Analysis, 2nd ed. 2000, Example 5.8."""
    bar = isotropic(200e9, 80e9, 0.01, 1e-3, 1e-3, 2e-3)
    nodes = [(0, 3, 0), (0, 0, 0), (6, 3, 0), (9, 0, 3), (3, 3, 0)]
    machine = frame(nodes, [(1, 0), (4, 0), (4, 2), (2, 3)], bar, [1, 3])
    loads = [
        ("node 0", (120e3, 0.0, 0.0), (0.0, 0.0, 0.0)),
        ("node 4", (0.0, 0.0, 240e3), (0.0, 0.0, 0.0)),
        ("node 2", (0.0, -60e3, 0.0), (0.0, 0.0, -180e3)),
    ]
    expected = [-0.000859409726, 5.77635277e-05, 0.00500764459, 0.00239333188, -0.00162316861, 0.000681331291]
    assert loaded(machine, loads)["node 0"] == pytest.approx(expected, rel=1e-6)


def test_space_frame_of_weaver():
    """Weaver, Computer Programs for Structural Analysis, 1967, p. 146, problem 8, nu = 0.25 (kip, in)."""
    bar = isotropic(30e3, 12e3, 11.0, 56.0, 56.0, 83.0)
    nodes = [(0, 120, 0), (240, 120, 0), (0, 0, 0), (360, 0, 120)]
    machine = frame(nodes, [(2, 0), (0, 1), (1, 3)], bar, [2, 3])
    loads = [("node 0", (2.0, 0.0, 0.0), (0.0, 0.0, 0.0)), ("node 1", (0.0, -1.0, 0.0), (0.0, 0.0, -120.0))]
    moved = loaded(machine, loads)
    first = [0.22267, 0.00016, -0.17182, -0.00255, 0.00217, -0.00213]
    second = [0.22202, -0.48119, -0.70161, -0.00802, 0.00101, -0.00435]
    assert moved["node 0"] == pytest.approx(first, rel=2e-3, abs=6e-6)
    assert moved["node 1"] == pytest.approx(second, rel=2e-3, abs=6e-6)


def test_grid_of_logan():
    """Logan, A First Course in the Finite Element Method, 4th ed., Example 5.8 (kip, in), from memory."""
    bar = isotropic(30e3, 10e3, 10.0, 100.0, 100.0, 50.0)
    nodes = [(100, 0, 0), (0, 0, 0), (100, 0, -100), (100, -100, 0)]
    machine = frame(nodes, [(0, 1), (0, 2), (0, 3)], bar, [1, 2, 3])
    moved = loaded(machine, [("node 0", (0.0, -50.0, 0.0), (-1000.0, 0.0, 0.0))])["node 0"]
    expected = [7.098e-5, -0.014, -0.002352, -0.003996, 1.78e-5, -0.0001033]
    assert moved == pytest.approx(expected, rel=1e-3, abs=5e-6)


def test_gable_frame_reactions():
    """Logan 4th ed., Problem 5.30: 11.6877 kip, 30 kip, -1810.0745 kip in at the first base (kip, in)."""
    bar = isotropic(30e3, 12e3, 12.0, 200.0, 200.0, 400.0)
    nodes = [(0, 0, 0), (0, 360, 0), (180, 480, 0), (420, 480, 0), (600, 360, 0), (600, 0, 0)]
    machine = frame(nodes, [(0, 1), (1, 2), (2, 3), (3, 4), (4, 5)], bar, [0, 5])
    loop = assemble(machine, parts_of(machine))
    pulls = [Pull(name=b.name, part=b.name, at=b.at, force=(0.0, -30.0, 0.0)) for b in machine.blocks[2:4]]
    base = sum(dict(solve(loop, pull).reactions)["support 0"] for pull in pulls)
    assert [base[0], base[1], base[5]] == pytest.approx([11.6877, 30.0, -1810.0745], rel=1e-4)


def test_beam_on_springs():
    """McGuire, Gallagher & Ziemian 2nd ed., Example 4.15: centre moment 547 kip in; deflection 0.2463 in as computed
    for the discrete supported model (the book prints 0.238)."""
    bar = isotropic(29e3, 11.2e3, 1e3, 128.5, 128.5, 1e3)
    count = 17
    nodes = [(15.0 * i, 0, 0) for i in range(count)]
    nodes[0], nodes[8] = nodes[8], nodes[0]  # node 0 is where the tool sits
    order = [8, *range(1, 8), 0, *range(9, count)]
    feet = tuple(
        Support(name=f"spring {i}", part=f"node {i}", at=nodes[i], stiffness=(0.0, 22.5, 0.0, 0.0, 0.0, 0.0))
        for i in order[1:-1]
    )
    near = Support(
        name="near end", part="node 8", at=nodes[8], stiffness=(RIGID, RIGID, RIGID, RIGID, RIGID, 0.0)
    )
    last = f"node {count - 1}"
    far = Support(name="far end", part=last, at=nodes[-1], stiffness=(0.0, RIGID, RIGID, 0.0, RIGID, 0.0))
    machine = frame(nodes, list(itertools.pairwise(order)), bar, [], supports=(*feet, near, far))
    loop = assemble(machine, parts_of(machine))
    pull = Pull(name="P", part="node 0", at=nodes[0], force=(0.0, -40.0, 0.0))
    state = loop.state(pull_load(loop, pull)[:, None])
    beside = next(m.name for m in machine.members if m.end == tuple(map(float, nodes[0])))
    moment = np.abs(member_forces(loop, beside, state)[-1, 3:5]).max()
    assert moment == pytest.approx(547.0, rel=3e-3)
    assert solve(loop, pull).tool_displacement[1] == pytest.approx(-0.2463, rel=1e-3)


# Vlasov: warping follows the twist (no secondary shear).
IPE_SECTION = stiffness_from_constants(
    name="IPE 200",
    EA=210e9 * 2.848e-3,
    EIx=210e9 * 1943e-8,
    EIy=210e9 * 142.4e-8,
    GJ=210e9 / 2.6 * 69800e-12,
    EGamma=210e9 * 12990000000e-18,
    kGAx=210e9 / 2.6 * 1.7e-3,
    kGAy=210e9 / 2.6 * 1.1e-3,
)


@pytest.mark.parametrize(
    ("ends", "expected", "rel"),
    [
        # phi = (TL/GIt)[1 - tanh(kL)/(kL)], Vlasov; and TL/GIt, Saint-Venant
        (("held", "free"), 0.0145943447, 1e-6),
        (("free", "free"), 0.0266066312, 1e-6),
    ],
)
def test_twist_of_an_open_cantilever(ends, expected, rel):
    """Vlasov, Thin-Walled Elastic Beams: IPE 200, 1.5 m, 100 N m, E I_omega phi'''' - G I_t phi'' = m."""
    pull = Pull(name="T", part="column", at=(0, 0, 1.5), couple=(0.0, 0.0, 100.0))
    twist = tip(cantilever(IPE_SECTION, 1.5, ends=ends), pull).tool_rotation[2]
    assert twist == pytest.approx(expected, rel=rel)


def test_bimoment_at_a_held_end():
    """B = T tanh(kL)/k, Vlasov: 67721574.9 N mm²."""
    machine = cantilever(IPE_SECTION, 1.5)
    loop = assemble(machine, parts_of(machine))
    pull = Pull(name="T", part="column", at=(0, 0, 1.5), couple=(0.0, 0.0, 100.0))
    state = loop.state(pull_load(loop, pull)[:, None])
    assert abs(member_forces(loop, "column", state)[0, 6]) == pytest.approx(67.7215749, rel=1e-6)


def test_torque_between_forks():
    """(TL/4GIt)[1 - tanh(kL/2)/(kL/2)], Vlasov: 0.00176234949 rad at mid-span; warping free at the forks."""
    nodes_fixed = (RIGID, RIGID, RIGID, 0.0, 0.0, RIGID)
    machine = cantilever(IPE_SECTION, 1.5, ends=("free", "free"), stiffness=nodes_fixed)
    top = Support(name="fork", part="column", at=(0, 0, 1.5), stiffness=(RIGID, RIGID, 0.0, 0.0, 0.0, RIGID))
    machine = replace(machine, supports=(*machine.supports, top))
    pull = Pull(name="T", part="column", at=(0, 0, 0.75), couple=(0.0, 0.0, 100.0))
    machine = replace(machine, tool=Place(part="column", at=(0, 0, 0.75)), pulls=(pull,))
    assert tip(machine, pull).tool_rotation[2] == pytest.approx(0.00176234949, rel=1e-6)


def test_channel_loaded_through_its_centroid():
    """UPN 200, 1 kN through the centroid, 59.5 mm from the shear centre: 0.00349570921 rad (Vlasov)."""
    GIt, EIw = 210e9 / 2.6 * 119000e-12, 210e9 * 9070000000e-18
    channel = stiffness_from_constants(
        name="UPN 200",
        EA=210e9 * 3.22e-3,
        EIx=210e9 * 1910e-8,
        EIy=210e9 * 148e-8,
        GJ=GIt,
        EGamma=EIw,
        kGAx=1e9,
        kGAy=1e9,
        shear_centre=(-0.0595, 0.0),
    )
    pull = Pull(name="P", part="column", at=(0, 0, 1.0), force=(0.0, 1000.0, 0.0))
    deflection = tip(cantilever(channel, 1.0), pull)
    assert deflection.tool_rotation[2] == pytest.approx(0.00349570921, rel=1e-6)
