"""Load cases against closed forms of beam theory; a source stands beside each that is not two lines of statics."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from machines import FIXED, cantilever, tube_machine

from strongback.errors import MachineError
from strongback.machine.cases import motion_at, solve_cases
from strongback.machine.loads import GRAVITY, Combination, LineLoad, LoadCase, Settlement, Tightening, Warming
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.values import (
    GROUND,
    RIGID,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    PointMass,
    Pull,
    Span,
    Support,
)
from strongback.materials import Material, material
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Outline, Wall, stiffness_from_constants

E, G, A, IX, IY, J, L = 200e9, 80e9, 2e-3, 3e-6, 1.5e-6, 2e-6, 0.8
EA, EIX, EIY, GJ, KGA = E * A, E * IX, E * IY, G * J, G * A * 5 / 6
G0 = 9.80665


def bar(**changes):
    """A bar with shear that counts."""
    known = {
        "name": "bar",
        "EA": EA,
        "EIx": EIX,
        "EIy": EIY,
        "GJ": GJ,
        "kGAx": KGA,
        "kGAy": KGA,
        "mass_per_length": 7850 * A,
    }
    return stiffness_from_constants(**(known | changes))


def upright(section=None, **changes):
    """A cantilever of length L along Z; x of the section is X."""
    return replace(cantilever(section or bar(), L), **changes)


def between(section=None, ends=(FIXED, FIXED)):
    """The same bar held at both ends."""
    supports = tuple(
        Support(name=name, part="column", at=(0.0, 0.0, z), stiffness=k)
        for name, z, k in zip(("foot", "head"), (0.0, L), ends, strict=True)
    )
    return upright(section, supports=supports)


def answer(machine, *cases, combinations=()):
    return solve_cases(assemble(machine, parts_of(machine)), cases, combinations)


def forces_at(found, s, member="column"):
    """Forces just beyond a station."""
    own = next(m for m in found.members if m.member == member)
    k = np.flatnonzero(np.abs(own.s - s) < 1e-9)
    return own.forces[k]


def case(name="case", **what):
    return LoadCase(name=name, **what)


def test_an_even_load_along_a_cantilever():
    """w = q L^4 / 8EI + q L² / 2kGA at the tip; Roark's Formulas, table of cantilevers, with shear added."""
    q = 500.0
    (found,) = answer(upright(), case(lines=(LineLoad(part="column", force=(q, 0.0, 0.0)),)))
    assert found.tool_displacement[0] == pytest.approx(q * L**4 / (8 * EIY) + q * L**2 / (2 * KGA), rel=1e-9)
    assert found.tool_rotation[1] == pytest.approx(q * L**3 / (6 * EIY), rel=1e-9)
    (name, wrench) = found.reactions[0]
    assert name == "base"
    assert wrench == pytest.approx([-q * L, 0.0, 0.0, 0.0, -q * L**2 / 2, 0.0], abs=1e-9 * q)
    own = found.members[0]
    assert own.forces[:, 0] == pytest.approx(q * (L - own.s), abs=1e-6)
    assert own.forces[:, 4] == pytest.approx(q * (L - own.s) ** 2 / 2, abs=1e-6)


def test_an_even_load_along_a_part_of_a_member_starts_and_ends_where_it_is_said():
    """Between a and b of a cantilever: w = integral of q s² (3L - s) / 6EI + q s / kGA from a to b."""
    q, a, b = 500.0, 0.131, 0.517
    load = LineLoad(part="column", force=(0.0, q, 0.0), low=a, high=b)
    (found,) = answer(upright(), case(lines=(load,)))
    bend = q / (6 * EIX) * (L * (b**3 - a**3) - (b**4 - a**4) / 4)
    assert found.tool_displacement[1] == pytest.approx(bend + q * (b**2 - a**2) / (2 * KGA), rel=1e-9)
    assert forces_at(found, b)[:, 1] == pytest.approx(0.0, abs=1e-6)
    assert forces_at(found, a)[:, 1] == pytest.approx(q * (b - a), rel=1e-9)


def test_an_even_load_beside_the_axis_twists():
    """t L² / 2GJ at the tip of a bar that warps freely."""
    q, x = 300.0, 0.04
    load = LineLoad(part="column", force=(0.0, q, 0.0), offset=(x, 0.0))
    (found,) = answer(upright(), case(lines=(load,)))
    assert found.tool_rotation[2] == pytest.approx(q * x * L**2 / (2 * GJ), rel=1e-9)
    own = found.members[0]
    assert own.forces[:, 5] == pytest.approx(q * x * (L - own.s), abs=1e-6)


def test_an_even_torque_on_a_section_that_warps():
    """GJ th' - EG th''' = t (L - z), th = th' = 0 at the foot and th'' = 0 at the tip (Vlasov's equation): the solution
    th = t (L z - z²/2) / GJ + A + C cosh kz + D sinh kz - (k D + t L / GJ) z with these conditions put in."""
    EGamma, q, x = 900.0, 300.0, 0.04
    t, k = q * x, np.sqrt(GJ / EGamma)
    load = LineLoad(part="column", force=(0.0, q, 0.0), offset=(x, 0.0))
    (found,) = answer(upright(bar(EGamma=EGamma)), case(lines=(load,)))
    # th' at the foot: t L / GJ + B + k D = 0; th at the foot: A + C = 0; th'' at the tip; the torque fixes B = 0.
    D = -t * L / (GJ * k)
    C = (t / GJ - D * k**2 * np.sinh(k * L)) / (k**2 * np.cosh(k * L))
    expected = t * L**2 / (2 * GJ) + C * (np.cosh(k * L) - 1.0) + D * np.sinh(k * L)
    assert found.tool_rotation[2] == pytest.approx(expected, rel=1e-7)
    bimoment = -EGamma * (-t / GJ + C * k**2)  # -EG th'' at the foot
    assert abs(found.members[0].forces[0, 6]) == pytest.approx(abs(bimoment), rel=1e-6)
    assert found.members[0].forces[-1, 6] == pytest.approx(0.0, abs=1e-9 * abs(bimoment))


def test_several_forces_and_couples_anywhere_at_once():
    """P a² (3L - a) / 6EI + P a / kGA for a force at a, M a (2L - a) / 2EI for a couple; places that are no stations."""
    P, a, M, b = 120.0, 0.2371, 30.0, 0.6113
    pulls = (
        Pull(name="force", part="column", at=(0.0, 0.0, a), force=(P, 0.0, 0.0)),
        Pull(name="couple", part="column", at=(0.0, 0.0, b), couple=(0.0, M, 0.0)),
    )
    (found,) = answer(upright(), case(pulls=pulls))
    expected = P * a**2 * (3 * L - a) / (6 * EIY) + P * a / KGA + M * b * (2 * L - b) / (2 * EIY)
    assert found.tool_displacement[0] == pytest.approx(expected, rel=1e-9)
    assert forces_at(found, a)[:, 0] == pytest.approx([P, 0.0], abs=1e-6)  # the shear jumps
    assert forces_at(found, b)[:, 4] == pytest.approx([M, 0.0], abs=1e-6)


def test_one_pull_as_a_case_is_what_a_pull_is():
    machine = tube_machine()
    loop = assemble(machine, parts_of(machine))
    one = solve(loop, machine.pulls[0])
    (found,) = solve_cases(loop, [case(pulls=machine.pulls)])
    assert found.tool_displacement == pytest.approx(one.tool_displacement, rel=1e-9, abs=1e-15)
    assert dict(found.gauges) == pytest.approx(dict(one.gauges), rel=1e-9)
    for (name, a), (other, b) in zip(found.reactions, one.reactions, strict=True):
        assert name == other
        assert a == pytest.approx(b, rel=1e-9, abs=1e-7)


def test_own_weight_of_a_lying_bar_and_of_a_mass_at_its_tip():
    """m g L^4 / 8EI and W L³ / 3EI, each with its shear: the droop of a head on an arm."""
    arm = Member(
        name="column",
        start=(0.0, 0.0, 0.0),
        end=(0.0, -L, 0.0),
        x_axis=(1.0, 0.0, 0.0),
        spans=(Span(section="bar", length=L),),
        ends=("held", "free"),
    )
    tip = (0.0, -L, 0.0)
    machine = upright(
        members=(arm,),
        masses=(PointMass(name="head", part="column", at=tip, mass=12.0),),
        tool=Place(part="column", at=tip),
        work=Place(part=GROUND, at=tip),
    )
    (found,) = answer(machine, case(gravity=GRAVITY))
    q, W = 7850 * A * G0, 12.0 * G0
    droop = q * L**4 / (8 * EIX) + q * L**2 / (2 * KGA) + W * L**3 / (3 * EIX) + W * L / KGA
    assert found.tool_displacement[2] == pytest.approx(-droop, rel=1e-9)
    assert found.reactions[0][1][2] == pytest.approx(q * L + W, rel=1e-9)


def test_own_weight_off_the_axis_twists_a_lying_bar():
    """Weight m g at x beside the axis: m g x L² / 2GJ at the tip."""
    x = 0.03
    section = bar(mass_centroid=(x, 0.0))
    (found,) = answer(upright(section), case(gravity=(0.0, -G0, 0.0)))
    assert found.tool_rotation[2] == pytest.approx(-7850 * A * G0 * x * L**2 / (2 * GJ), rel=1e-9)


def test_an_even_rise_of_temperature_grows_and_pushes():
    """a T L where it is free, N = -EA a T where it is held."""
    a, T = 12e-6, 15.0
    warm = case(warmings=(Warming(part="column", rise=T, expansion=a),))
    (free,) = answer(upright(), warm)
    assert free.tool_displacement == pytest.approx([0.0, 0.0, a * T * L], rel=1e-9, abs=1e-15)
    assert free.members[0].forces == pytest.approx(0.0, abs=1e-5)
    (held,) = answer(between(), warm)
    assert held.members[0].forces[:, 2] == pytest.approx(-EA * a * T, rel=1e-9)
    assert dict(held.reactions)["foot"][2] == pytest.approx(EA * a * T, rel=1e-9)


def test_a_fall_of_temperature_across_bends():
    """a g L² / 2 away from the warm side where it is free; M = -EI a g and no motion where it is held."""
    a, g = 12e-6, 100.0
    warm = case(warmings=(Warming(part="column", across=(g, 0.0), expansion=a),))
    (free,) = answer(upright(), warm)
    assert free.tool_displacement == pytest.approx([-a * g * L**2 / 2, 0.0, 0.0], rel=1e-9, abs=1e-15)
    assert free.tool_rotation[1] == pytest.approx(-a * g * L, rel=1e-9)
    (held,) = answer(between(), warm)
    assert abs(held.members[0].forces[:, 4]) == pytest.approx(EIY * a * g, rel=1e-9)
    assert held.parts[0].displacement == pytest.approx(0.0, abs=1e-15)


def test_a_strip_of_two_metals_bends_as_timoshenko_says():
    """S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233, eq. 4 (from memory):
    curvature = 6 (a2 - a1) T (1 + m)² / (h (3 (1 + m)² + (1 + m n)(m² + 1/(m n)))), m = t1/t2, n = E1/E2."""
    one = Material(name="one", E=200e9, nu=0.0, density=7850.0, expansion=12e-6, source="invented")
    two = Material(name="two", E=70e9, nu=0.0, density=2700.0, expansion=23e-6, source="invented")
    t1, t2, b, T = 0.004, 0.006, 0.02, 30.0

    def plate(name, material, low, high):
        ring = ((0.0, low), (b, low), (b, high), (0.0, high))
        return Wall(name=name, material=material, ring=ring)

    outline = Outline(name="bar", walls=(plate("one", one, 0.0, t1), plate("two", two, t1, t1 + t2)))
    machine = replace(upright(), sections=(("bar", outline),))
    (found,) = answer(machine, case(warmings=(Warming(part="column", rise=T),)))
    m, n, h = t1 / t2, one.E / two.E, t1 + t2
    curvature = 6 * (two.expansion - one.expansion) * T * (1 + m) ** 2
    curvature /= h * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n)))
    assert found.tool_rotation[0] == pytest.approx(curvature * L, rel=1e-6)
    assert found.members[0].forces == pytest.approx(0.0, abs=1e-3)


def loop_of_one_metal():
    """A bench, a column, an arm and a spindle block, held at one point."""
    section = bar()
    a = 11e-6
    points = {"bed": (0.1, -0.3, 0.0), "head": (0.05, -0.25, L)}
    column = upright().members[0]
    arm = Member(
        name="arm",
        start=(0.0, 0.0, L),
        end=(0.0, -0.25, L),
        x_axis=(1.0, 0.0, 0.0),
        spans=(Span(section="bar", length=0.25),),
    )
    k = (1e8, 1e8, 1e8, 1e5, 1e5, 1e5)
    machine = Machine(
        name="loop",
        sections=(("bar", section),),
        members=(column, arm),
        blocks=(Block(name="bed", at=points["bed"]), Block(name="head", at=points["head"])),
        joints=(
            Joint(name="foot", parts=("bed", "column"), at=(0.02, 0.01, 0.0), stiffness=k),
            Joint(name="top", parts=("column", "arm"), at=(0.01, -0.05, L), stiffness=k),
            Joint(name="nose", parts=("arm", "head"), at=(0.03, -0.25, L + 0.02), stiffness=k),
        ),
        supports=(Support(name="floor", part="bed", at=points["bed"], stiffness=FIXED),),
        gauges=(
            Gauge(name="side", part="column", at=(0.05, 0.02, 0.4), direction=(1.0, 0.0, 0.0)),
            Gauge(name="own", part="head", at=(0.0, -0.3, L), direction=(0.0, 1.0, 0.0), reference="column"),
        ),
        tool=Place(part="head", at=(0.05, -0.3, 0.5)),
        work=Place(part="bed", at=(0.05, -0.3, 0.5)),
    )
    return machine, a


def test_a_whole_machine_that_grows_alike_has_no_force_anywhere():
    """Every point moves by a T (p - p0) from the one that is held; the tool stays with the work."""
    machine, a = loop_of_one_metal()
    T = 8.0
    names = ("column", "arm", "bed", "head")
    (found,) = answer(machine, case(warmings=tuple(Warming(part=n, rise=T, expansion=a) for n in names)))
    assert found.tool_displacement == pytest.approx(0.0, abs=1e-14)
    for own in found.members:
        assert own.forces == pytest.approx(0.0, abs=1e-5)
    held = np.array([0.1, -0.3, 0.0])
    for part in found.parts:
        assert part.displacement == pytest.approx(a * T * (part.points - held), abs=1e-14)
    readings = dict(found.gauges)
    assert readings["side"] == pytest.approx(a * T * (0.05 - 0.1), rel=1e-9)
    assert readings["own"] == pytest.approx(0.0, abs=1e-14)  # both ends of the gauge grow to the same place
    assert motion_at(found, Place(part="head", at=(0.2, 0.1, 0.9)))[:3] == pytest.approx(
        a * T * np.array([0.1, 0.4, 0.9]), rel=1e-9
    )


def test_a_field_that_is_linear_over_the_machine_makes_no_force():
    """Temperature g·p over a column and an arm of one metal in line with its axes: free of stress (Boley & Weiner, 9.4)."""
    machine, a = loop_of_one_metal()
    g = 40.0  # along X of the room, the same for both
    names = ("column", "arm")
    warm = [Warming(part=n, across=(g, 0.0), expansion=a) for n in names]
    (found,) = answer(replace(machine, gauges=()), case(warmings=tuple(warm)))
    for own in found.members:
        assert own.forces == pytest.approx(0.0, abs=1e-4)


def test_a_warm_spindle_moves_the_tool():
    """A block that grows from its reference point: a T times the way from there to the tool."""
    machine, a = loop_of_one_metal()
    (found,) = answer(machine, case(warmings=(Warming(part="head", rise=20.0, expansion=a),)))
    nose, tool = np.array([0.03, -0.25, L + 0.02]), np.array([0.05, -0.3, 0.5])
    assert found.tool_displacement == pytest.approx(a * 20.0 * (tool - nose), rel=1e-9)


def test_a_support_that_settles_carries_the_machine_and_bends_what_resists():
    """A turn f of the foot moves the tip by f L; a propped head that sinks by d pulls with 3EI d / L³ (no shear)."""
    f = 2e-4
    (found,) = answer(upright(), case(settlements=(Settlement(support="base", rotation=(0.0, f, 0.0)),)))
    assert found.tool_displacement == pytest.approx([f * L, 0.0, 0.0], rel=1e-9, abs=1e-15)
    assert found.members[0].forces == pytest.approx(0.0, abs=1e-6)
    stiff = bar(kGAx=1e6 * KGA, kGAy=1e6 * KGA)
    prop = (RIGID, 0.0, 0.0, 0.0, 0.0, 0.0)
    d = 1e-4
    moved = case(settlements=(Settlement(support="head", displacement=(d, 0.0, 0.0)),))
    (found,) = answer(between(stiff, (FIXED, prop)), moved)
    assert dict(found.reactions)["head"][0] == pytest.approx(3 * EIY * d / L**3, rel=1e-5)
    assert found.tool_displacement[0] == pytest.approx(d, rel=1e-9)


def rods(count=1):
    """A post with tie rods beside it between two plates, all on the axis, the foot held."""
    post, rod = bar(), bar(name="rod", EA=EA / 10)

    def member(name, section):
        span = (Span(section=section, length=L),)
        return Member(name=name, start=(0.0, 0.0, 0.0), end=(0.0, 0.0, L), x_axis=(1.0, 0.0, 0.0), spans=span)

    names = [f"rod {i}" for i in range(count)]
    joints = [
        Joint(name=f"{n} {end}", parts=(end, n), at=(0.0, 0.0, z), stiffness=FIXED)
        for n in ("post", *names)
        for end, z in (("foot", 0.0), ("top", L))
    ]
    top = (0.0, 0.0, L)
    return Machine(
        name="tied post",
        sections=(("bar", post), ("rod", rod)),
        members=(member("post", "bar"), *(member(n, "rod") for n in names)),
        blocks=(Block(name="foot", at=(0.0, 0.0, 0.0)), Block(name="top", at=top)),
        joints=tuple(joints),
        supports=(Support(name="floor", part="foot", at=(0.0, 0.0, 0.0), stiffness=FIXED),),
        tool=Place(part="top", at=top),
        work=Place(part=GROUND, at=top),
    )


def test_a_tie_rod_has_its_preload_and_the_post_takes_it():
    """N = F in the rod, -F in the post, which gives by F L / EA; a pull P beyond shares by stiffness (bolted joints)."""
    F, P = 20e3, 3e3
    pull = Pull(name="up", part="top", at=(0.0, 0.0, L), force=(0.0, 0.0, P))
    tight, pulled = answer(
        rods(),
        case("tight", tightenings=(Tightening(part="rod 0", force=F),)),
        case("pulled", tightenings=(Tightening(part="rod 0", force=F),), pulls=(pull,)),
    )
    rod, post = (forces_at(tight, 0.0, name)[0, 2] for name in ("rod 0", "post"))
    assert (rod, post) == (pytest.approx(F, rel=1e-9), pytest.approx(-F, rel=1e-9))
    assert tight.tool_displacement[2] == pytest.approx(-F * L / EA, rel=1e-9)
    assert tight.reactions[0][1] == pytest.approx(0.0, abs=1e-5)
    assert forces_at(pulled, 0.0, "rod 0")[0, 2] == pytest.approx(F + P / 11.0, rel=1e-9)


def test_rods_keep_their_stated_tension_though_each_slackens_the_others():
    forces = (20e3, 5e3)
    tighten = tuple(Tightening(part=f"rod {i}", force=f) for i, f in enumerate(forces))
    (found,) = answer(rods(2), case(tightenings=tighten))
    for i, force in enumerate(forces):
        assert forces_at(found, 0.0, f"rod {i}")[0, 2] == pytest.approx(force, rel=1e-8)
    assert forces_at(found, 0.0, "post")[0, 2] == pytest.approx(-sum(forces), rel=1e-8)


def test_a_combination_adds_its_cases():
    a, b = case("a", gravity=GRAVITY), case("b", warmings=(Warming(part="column", rise=5.0, expansion=1e-5),))
    pull = Pull(name="p", part="column", at=(0.0, 0.0, L), force=(10.0, 0.0, 0.0))
    c = case("c", pulls=(pull,))
    combined = Combination(name="all", terms=(("a", 1.0), ("b", -2.0), ("c", 1.5)))
    one, two, three, total = answer(upright(), a, b, c, combinations=[combined])
    assert total.name == "all"
    for name in ("tool_displacement", "tool_rotation"):
        parts = [getattr(r, name) for r in (one, two, three)]
        assert getattr(total, name) == pytest.approx(
            parts[0] - 2.0 * parts[1] + 1.5 * parts[2], rel=1e-9, abs=1e-18
        )
    forces = [r.members[0].forces for r in (one, two, three)]
    assert total.members[0].forces == pytest.approx(forces[0] - 2 * forces[1] + 1.5 * forces[2], abs=1e-6)


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ({"lines": (LineLoad(part="collumn", force=(1.0, 0.0, 0.0)),)}, "collumn"),
        ({"lines": (LineLoad(part="column", force=(1.0, 0.0, 0.0), high=5.0),)}, "beyond the member"),
        ({"warmings": (Warming(part="column", rise=5.0),)}, "given by its stiffness"),
        ({"warmings": (Warming(part="nobody", rise=5.0),)}, "nobody"),
        ({"settlements": (Settlement(support="feet"),)}, "feet"),
        ({"tightenings": (Tightening(part="rod", force=1.0),)}, "rod"),
        ({"tightenings": (Tightening(part="column", force=1.0),)}, "whose ends nothing holds"),
    ],
)
def test_what_cannot_be_loaded_is_refused(what, words):
    with pytest.raises(MachineError, match=words):
        answer(upright(), case(**what))


def test_names_of_cases_are_their_own():
    with pytest.raises(MachineError, match="same name"):
        answer(upright(), case("a"), case("a"))
    with pytest.raises(MachineError, match="which is not there"):
        answer(upright(), case("a"), combinations=[Combination(name="b", terms=(("c", 1.0),))])


def test_bad_values_are_refused_where_they_are_made():
    with pytest.raises(MachineError, match="force"):
        LineLoad(part="column", force=(1.0, 0.0))
    with pytest.raises(MachineError, match="rise"):
        Warming(part="column", rise=float("nan"))
    with pytest.raises(MachineError, match="not below"):
        LineLoad(part="column", force=(1.0, 0.0, 0.0), low=0.3, high=0.2)
    with pytest.raises(MachineError, match=r"pulls\[0\]"):
        LoadCase(name="a", pulls=(1,))


@pytest.fixture(scope="module")
def body_machine():
    """An aluminium tube as a body, a block on a pad of its side, the foot held."""
    tube = rectangular_tube(material("aluminium"), 0.08, 0.08, 0.005)
    side = (0.0, 0.04, 0.2)
    member = Member(
        name="column",
        start=(0.0, 0.0, 0.0),
        end=(0.0, 0.0, 0.3),
        x_axis=(1.0, 0.0, 0.0),
        spans=(Span(section="tube", length=0.3),),
        ends=("held", "free"),
        model="body",
    )
    return Machine(
        name="column",
        sections=(("tube", tube),),
        members=(member,),
        pads=(Pad(name="pad", part="column", at=side, normal=(0.0, 1.0, 0.0), size=(0.04, 0.04)),),
        supports=(Support(name="base", part="column", at=(0.0, 0.0, 0.0), stiffness=FIXED),),
        blocks=(Block(name="head", at=side),),
        joints=(Joint(name="slide", parts=("column", "head"), at=side, stiffness=FIXED, pad="pad"),),
        tool=Place(part="head", at=side),
        work=Place(part=GROUND, at=side),
    )


def test_a_warm_body_grows_free_of_stress(body_machine):
    """Even rise: its pad moves by a T p. Across: by the field of a linear temperature (Boley & Weiner, 9.4)."""
    a, T, g = material("aluminium").expansion, 12.0, 80.0
    even = case("even", warmings=(Warming(part="column", rise=T),))
    across = case("across", warmings=(Warming(part="column", across=(0.0, g)),))
    one, two = answer(body_machine, even, across)
    p = np.array([0.0, 0.04, 0.2])
    assert one.tool_displacement == pytest.approx(a * T * p, rel=1e-6, abs=1e-12)
    field = a * (g * p[1] * p - 0.5 * np.array([0.0, g, 0.0]) * (p @ p))
    assert two.tool_displacement == pytest.approx(field, rel=1e-6, abs=1e-12)
    assert two.tool_rotation == pytest.approx(a * g * np.array([p[2], 0.0, 0.0]), rel=1e-6, abs=1e-12)
    for found in (one, two):
        assert found.reactions[0][1] == pytest.approx(0.0, abs=1e-2)


def test_own_weight_of_a_body(body_machine):
    """Upright: its foot carries m g, its pad sinks by q s (2L - s) / 2EA, m g to be carried below (Poisson's ratio zero, so
    that nothing but the axis counts); lying: m g and the moment m g L / 2 at the foot."""
    alloy = Material(name="alloy", E=70e9, nu=0.0, density=2700.0, source="invented")
    tube = rectangular_tube(alloy, 0.08, 0.08, 0.005)
    machine = body_machine.with_section("tube", tube)
    loop = assemble(machine, parts_of(machine))
    area, length, at = 0.08**2 - 0.07**2, 0.3, 0.2
    weight = 2700.0 * area * length * G0
    down, across = solve_cases(loop, [case("down", gravity="-z"), case("across", gravity="+x")])
    assert down.reactions[0][1] == pytest.approx([0.0, 0.0, weight, 0.0, 0.0, 0.0], abs=1e-6 * weight)
    per = weight / length
    sinks = per * at * (2.0 * length - at) / (2.0 * 70e9 * area)
    assert down.tool_displacement[2] == pytest.approx(-sinks, rel=1e-2)
    force, moment = across.reactions[0][1][[0, 4]]
    assert force == pytest.approx(-weight, rel=1e-6)
    assert moment == pytest.approx(-weight * length / 2.0, rel=1e-6)


def test_the_droop_of_a_slender_body_is_that_of_a_beam(body_machine):
    """q L⁴/8EI + q L²/2kGA at the end face: a tube of fifteen widths, its ends held in shape; 1 %."""
    alloy = Material(name="alloy", E=70e9, nu=0.0, density=2700.0, source="invented")
    tube = rectangular_tube(alloy, 0.04, 0.04, 0.004)
    length = 0.6
    base = body_machine.supports[0]
    member = replace(
        body_machine.members[0], end=(0.0, 0.0, length), spans=(("tube", length),), ends=("held", "held")
    )
    end = (0.0, 0.0, length)
    machine = replace(
        body_machine, members=(member,), pads=(), blocks=(), joints=(), supports=(base,), tool=("column", end),
        work=(GROUND, end), sections={"tube": tube},
    )  # fmt: skip
    (found,) = answer(machine, case(gravity="+x"))
    area, I = 0.04**2 - 0.032**2, (0.04**4 - 0.032**4) / 12.0
    q = 2700.0 * area * G0
    k = 2 * 0.04 * 0.004 / area  # the two webs
    droop = q * length**4 / (8 * 70e9 * I) + q * length**2 / (2 * k * 35e9 * area)
    assert found.tool_displacement[0] == pytest.approx(droop, rel=1e-2)
