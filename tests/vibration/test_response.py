"""Receptance against closed forms, the direct solution, the continuum, and the statics."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from exact_dynamics import dynamic_stiffness
from machines import cantilever, small_mill

from strongback.machine.compliance import tool_compliance
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.values import GROUND, RIGID, Machine, Member, Place, PointMass, Span
from strongback.section.values import stiffness_from_constants
from strongback.vibration.model import dynamics
from strongback.vibration.response import (
    coupled,
    receptance,
    receptance_direct,
    response_modes,
    tool_rows,
)

MASSES = (
    PointMass(name="head", part="arm", at=(0.0, 0.2, 0.35), mass=6.0, inertia=(0.02, 0.03, 0.01)),
    PointMass(name="table", part="bed", at=(0.0, 0.1, 0.05), mass=9.0, inertia=(0.1, 0.1, 0.1)),
)


def mill(loss=0.05):
    machine = replace(small_mill(), masses=MASSES)
    return replace(
        machine,
        joints=tuple(replace(j, loss_factor=loss) for j in machine.joints),
        supports=tuple(replace(s, loss_factor=loss) for s in machine.supports),
    )


def test_modes_and_direct_solution_agree():
    """On the same matrices: all modes to 1e-9, those to three times the top line with residual to 1e-6."""
    model = dynamics(mill(), parts_of(mill()))
    rows, lines = tool_rows(model), np.linspace(1.0, 2000.0, 57)
    direct = receptance_direct(model, rows, lines)
    size = np.abs(direct).max(axis=(1, 2), keepdims=True)
    made = response_modes(model, rows, 2000.0)
    assert np.abs((made.receptance(lines) - direct) / size).max() < 1e-9
    some = made.up_to(6000.0)
    assert len(some.inverse) < 0.6 * len(made.inverse)
    assert np.abs((some.receptance(lines) - direct) / size).max() < 1e-6
    assert direct == pytest.approx(np.swapaxes(direct, 1, 2), rel=1e-9, abs=1e-9 * size.max())  # reciprocity


def test_the_continuum_is_met():
    """Exact dynamic stiffness by matrix exponential, losses in the joints: 1e-3 at every line."""
    machine = mill()
    parts = parts_of(machine)
    model = dynamics(machine, parts)
    lines = np.array([1.0, 30.0, 61.0, 85.4, 160.0, 275.9, 446.0, 518.0, 900.0, 1500.0, 1840.0, 2000.0])
    found = receptance(model, tool_rows(model), lines)
    for line, own in zip(lines, found, strict=True):
        Z, free, _ = dynamic_stiffness(machine, parts, float(line), 0.05)
        rows = tool_rows(model) @ model.free.T @ free
        exact = rows @ np.linalg.solve(Z, rows.T)
        assert np.abs(own - exact).max() < 1e-3 * np.abs(exact).max(), line


def test_at_rest_it_is_the_compliance_of_the_statics():
    machine = mill(0.0)
    parts = parts_of(machine)
    model = dynamics(machine, parts)
    found = response_modes(model, tool_rows(model), 100.0, joints=0.0).receptance(np.array([0.0]))[0]
    assert found.imag == pytest.approx(np.zeros((3, 3)), abs=1e-20)
    static = tool_compliance(assemble(machine, parts))
    assert found.real == pytest.approx(np.asarray(static)[:3, :3], rel=1e-8, abs=1e-8 * np.abs(static).max())


def test_one_mass_on_a_spring_with_loss():
    """1 / (k (1 - r² + i eta)), elementary."""
    light = stiffness_from_constants(name="bar", EA=1e12, EIx=1e9, EIy=1e9, GJ=1e9, kGAx=1e12, kGAy=1e12)
    machine = cantilever(light, 0.4, stiffness=(2e6, RIGID, RIGID, RIGID, RIGID, RIGID))
    tip = PointMass(name="head", part="column", at=(0.0, 0.0, 0.4), mass=10.0)
    support = replace(machine.supports[0], loss_factor=0.06)
    machine = replace(machine, masses=(tip,), supports=(support,))
    model = dynamics(machine, parts_of(machine))
    fn = np.sqrt(2e6 / 10.0) / (2.0 * np.pi)
    lines = fn * np.array([0.2, 0.9, 1.0, 1.1])
    bar = 0.4**3 / (3.0 * 1e9) + 0.4 / 1e12
    k = 1.0 / (1.0 / 2e6 + bar)  # 1e-4 softer with the bar
    expected = 1.0 / (k * (1.0 + 0.06j) - 10.0 * (2.0 * np.pi * lines) ** 2)
    assert receptance(model, tool_rows(model), lines)[:, 0, 0] == pytest.approx(expected, rel=1e-4)


def euler_rod(length, frequency, d=0.01, E=210e9, rho=7850.0):
    """Receptance of a free rod at its two ends, (x, turn) each: displacement v(s), turn v'(s), by the exact shapes."""
    EI, m = E * np.pi * d**4 / 64.0, rho * np.pi * d**2 / 4.0
    b = (m * (2.0 * np.pi * frequency) ** 2 / EI) ** 0.25

    def shapes(s, order):
        x = b * s
        circle = [
            (np.cos(x), np.sin(x)),
            (-np.sin(x), np.cos(x)),
            (-np.cos(x), -np.sin(x)),
            (np.sin(x), -np.cos(x)),
        ]
        c, si = circle[order]
        h, sh = (np.cosh(x), np.sinh(x)) if order % 2 == 0 else (np.sinh(x), np.cosh(x))
        return b**order * np.array([c, si, h, sh])

    motion = np.array([shapes(0.0, 0), shapes(0.0, 1), shapes(length, 0), shapes(length, 1)])
    # Forces and moments on the ends: EI v''' and -EI v'' at the start, the opposite at the end.
    load = EI * np.array([shapes(0.0, 3), -shapes(0.0, 2), -shapes(length, 3), shapes(length, 2)])
    return motion @ np.linalg.inv(load)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        (50.0, (-0.00011914, 0.00025999, 0.00029417)),
        (100.0, (-1.72126464e-05, -6.69856607e-05, 0.0017720398)),
        (500.0, (4.03540833e-05, -0.000669487074, 0.0110664027)),
    ],
)
def test_two_rods_make_one(frequency, expected):
    """Steel rods of 10 mm, 0.3 m and 0.2 m, joined rigidly, are one of 0.5 m: end receptances x/F, x/M, turn/M of Euler
    beams, computed apart to the digits given; the coupled ones equal the whole to 1e-9."""
    a, b, whole = (euler_rod(length, frequency) for length in (0.3, 0.2, 0.5))
    found = coupled(a[2:, 2:], a[2:, :2], a[:2, :2], b[2:, 2:])
    assert found == pytest.approx(whole[2:, 2:], rel=1e-9, abs=1e-12)
    sizes = (abs(found[0, 0]), abs(found[0, 1]), abs(found[1, 1]))
    assert sizes == pytest.approx(np.abs(expected), rel=1e-4)


def rod(length, loss=0.0):
    steel = stiffness_from_constants(
        name="rod",
        EA=210e9 * np.pi * 2.5e-5,
        EIx=210e9 * np.pi * 1e-8 / 64.0,
        EIy=210e9 * np.pi * 1e-8 / 64.0,
        GJ=80e9 * np.pi * 1e-8 / 32.0,
        kGAx=1e13,
        kGAy=1e13,
        mass_per_length=7850.0 * np.pi * 2.5e-5,
        inertia_per_length=(4e-9, 4e-9, 0.0),  # next to none: the formulas have none
    )
    own = Member(
        name="rod",
        start=(0.0, 0.0, 0.0),
        end=(0.0, 0.0, length),
        x_axis=(1.0, 0.0, 0.0),
        spans=(Span(section="rod", length=length),),
    )
    place = Place(part="rod", at=(0.0, 0.0, length))
    return Machine(
        name="rod",
        sections=(("rod", steel),),
        members=(own,),
        tool=place,
        work=Place(part=GROUND, at=place.at),
    ), Parts(sections={"rod": steel})


def test_free_rods_of_the_model_couple_too():
    """The same with the package's own free rods: six motions an end, coupled against whole and against Euler."""
    lines = np.array([50.0, 100.0, 500.0])

    def ends(length):
        model = dynamics(*rod(length))
        rows = np.vstack([model.rows_of("rod", (0.0, 0.0, s)) for s in (0.0, length)])
        return receptance(model, rows, lines)

    a, b, whole = ends(0.3), ends(0.2), ends(0.5)
    found = coupled(a[:, 6:, 6:], a[:, 6:, :6], a[:, :6, :6], b[:, 6:, 6:])
    flexing = [0, 1, 3, 4]
    got, expected = (h[:, flexing][:, :, flexing] for h in (found, whole[:, 6:, 6:]))
    assert np.abs(got - expected).max() < 1e-4 * np.abs(expected).max()
    for line, own in zip(lines, whole, strict=True):
        assert own[6, 6].real == pytest.approx(euler_rod(0.5, line)[2, 2], rel=1e-4)
