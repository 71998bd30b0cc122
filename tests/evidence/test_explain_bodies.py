"""A column as a body that is filled: what the two data sets say. The machine is the example tube-mill, invented."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from campaigns import log

from strongback import project
from strongback.change.values import Change, applied
from strongback.evidence.change import Case, ChangeModel, causes_of
from strongback.evidence.explain import _verdict, explain
from strongback.evidence.model import at_load, default_parameters, prior_uncertainty
from strongback.evidence.readings import Instrument
from strongback.evidence.reduce import reduce
from strongback.machine.columns import column_body
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, responses, scaled
from strongback.machine.part.make import parts_of
from strongback.machine.surrogate import FillState, filled_parts, with_modulus
from strongback.machine.values import Span
from strongback.section.bond import with_bond

pytestmark = pytest.mark.slow
EXAMPLE = Path(__file__).parents[2] / "examples" / "tube-mill"
SECTIONS = (("tube", "tube filled"),)
NAMES = [
    *(("sideways", g) for g in ("tool x", "saddle x", "rear wall", "foot x", "top x", "side wall")),
    *(("fore-aft", g) for g in ("tool y", "saddle y", "rear wall", "foot y")),
    *(("jack", g) for g in ("tool z", "saddle y", "rear wall", "foot y")),
    *(("head sideways", g) for g in ("tool x", "saddle x", "top x")),
]
SHARP = Instrument(u_load=1e-6, u_angle=0.0, resolution=1e-12, set_up=1e-9)


def joint(part, mechanism):
    return Parameter(kind="joint", part=part, mechanism=mechanism)


def column(mechanism):
    return Parameter(kind="member", part="column", mechanism=mechanism)


HIDDEN = {
    column("wall"): 0.92,
    column("contact"): 0.5,
    joint("base", "about x"): 0.7,
    joint("base", "about y"): 0.8,
    joint("saddle ways", "about x"): 0.8,
}


@pytest.fixture(scope="module")
def machine():
    machine = project.read(EXAMPLE).machine
    return replace(machine, pulls=tuple(at_load(p, 300.0) for p in machine.pulls))


@pytest.fixture(scope="module")
def meant(machine):
    return applied(machine, Change(sections=SECTIONS))


@pytest.fixture(scope="module")
def change(machine, meant):
    parts = parts_of(machine, contact=True)
    filled = filled_parts(machine, meant, parts, contact=True)
    causes = causes_of(machine, ["column"], filled=filled)
    return Case(machine=machine, meant=meant, parts=parts, filled=filled, causes=causes)


@pytest.fixture(scope="module")
def poured(change):
    return change.filled.bodies["column"]


def other_fill(meant, modulus=1.0, bond="bonded", contact=1.0):
    """The machine as meant with another modulus, bond and contact."""
    outline = with_bond(with_modulus(dict(meant.sections)["tube filled"], modulus), bond)
    return replace(
        meant,
        sections=tuple((n, outline if n == "tube filled" else s) for n, s in meant.sections),
        pads=tuple(replace(p, stiffness=p.stiffness * contact) for p in meant.pads),
    )


@pytest.mark.parametrize(
    ("modulus", "bond", "contact"), [(0.7, "bonded", 0.4), (0.35, "bonded", 2.0), (0.7, "sliding", 0.4)]
)
def test_told_between_its_limits_it_is_the_body_condensed_anew(meant, poured, modulus, bond, contact):
    """Compliances of the pad to four parts in a thousand."""
    there = other_fill(meant, modulus, bond, contact)
    exact = np.linalg.inv(column_body(there, there.members[0]).stiffness[6:, 6:])
    told = np.linalg.inv(
        poured.at(contact, FillState(log_modulus=math.log(modulus), hold=float(bond == "bonded"))).stiffness[
            6:, 6:
        ]
    )
    size = np.sqrt(np.diag(exact))
    assert np.abs((told - exact) / np.outer(size, size)).max() < 0.004


def pairs_of(machine):
    pulls, gauges = {p.name: p for p in machine.pulls}, {g.name: g for g in machine.gauges}
    return [(pulls[p], gauges[g]) for p, g in NAMES]


def test_slopes_of_both_stages_are_those_of_their_readings(machine, change):
    parameters = tuple(HIDDEN)
    model = ChangeModel(change, pairs_of(machine), pairs_of(machine), parameters)
    z = np.concatenate([np.log(list(HIDDEN.values())), np.full(len(change.causes), 0.1)])
    assert [c.kind for c in change.causes[:3]] == ["modulus", "bond", "flex"]
    values, J = model(z)
    assert values == pytest.approx(model.value(z), rel=1e-9, abs=1e-15)
    for i in range(len(z)):
        step = 1e-4 * np.eye(len(z))[i]
        slope = (model.value(z + step) - model.value(z - step)) / 2e-4
        assert J[:, i] == pytest.approx(slope, rel=2e-3, abs=2e-4 * np.abs(values).max())


def campaign(machine, values, seed=None):
    stands = {g.name: g.reference for g in machine.gauges}
    rng = None if seed is None else np.random.default_rng(seed)
    rows = [replace(row, reference=stands[row.gauge]) for row in log(NAMES, values, rng, between=0.9e-6)]
    return reduce(rows, SHARP if seed is None else Instrument(u_load=1e-4, u_angle=0.0))


def test_a_softer_base_and_half_the_modulus_are_split(machine, meant, change):
    """Truth by bodies condensed anew. Each part of ln(after/before) of the tool within 15 % of the truth, or 0.005."""
    before = assemble(scaled(machine, HIDDEN), parts_of(scaled(machine, HIDDEN)))
    first = responses(before, pairs_of(machine))

    def after(base, modulus):
        there = scaled(other_fill(meant, modulus), HIDDEN)
        softer = {joint("base", name): base for name in ("about x", "about y", "about z")}
        softer |= {joint("base", name): base for name in ("along x", "along y", "along z")}
        there = scaled(there, softer)
        return responses(assemble(there, parts_of(there)), pairs_of(machine))

    second = after(0.7, 0.5)
    found = explain(
        change,
        campaign(machine, first),
        campaign(machine, second),
        parameters=tuple(HIDDEN),
        prior_u=prior_uncertainty(machine, tuple(HIDDEN)),
        u_load=1e-6,
    )
    assert found.find("base").value == pytest.approx(0.7, rel=0.03)
    assert found.find("fill modulus").value == pytest.approx(0.5, rel=0.1)
    as_meant = after(1.0, 1.0)
    for s in found.splits:
        if not s.gauge.startswith("tool"):
            continue
        i = NAMES.index((s.pull, s.gauge))
        parts = {name: value for name, value, _ in s.causes}
        # By one cause at a time from both ends, the mean of the two orders.
        softer, weaker = after(0.7, 1.0)[i], after(1.0, 0.5)[i]
        base = 0.5 * math.log(softer / as_meant[i]) + 0.5 * math.log(second[i] / weaker)
        modulus = 0.5 * math.log(weaker / as_meant[i]) + 0.5 * math.log(second[i] / softer)
        assert parts["base"] == pytest.approx(base, rel=0.15, abs=0.005)
        assert parts["fill modulus"] == pytest.approx(modulus, rel=0.15, abs=0.005)
        assert s.meant == pytest.approx(math.log(as_meant[i] / first[i]), rel=0.02)


def test_a_pour_that_stopped_short_is_found(machine, meant, change):
    """The truth is a tube filled to 180 mm of 480, condensed anew: the walls under the saddle give as before."""
    column = replace(
        meant.members[0],
        spans=(Span(section="tube filled", length=0.18), Span(section="tube", length=0.3)),
    )
    voided = replace(meant, members=(column, *meant.members[1:]))
    first, second = (
        responses(
            assemble(m := scaled(there, HIDDEN), parts_of(m)),
            pairs_of(machine),
        )
        for there in (machine, voided)
    )
    parameters = default_parameters(machine)
    found = explain(
        change,
        campaign(machine, first, 3),
        campaign(machine, second, 4),
        parameters=parameters,
        prior_u=prior_uncertainty(machine, parameters),
    )
    flex = found.find("wall flex")
    assert flex.verdict == "the fill does not hold the walls"
    assert flex.low > 0.3
    likeliest = found.alone[0]
    assert likeliest.name == "wall flex"
    assert {a.name for a in found.alone if a.excluded} >= {"the change as meant", "base", "fill modulus"}


def test_a_saddle_put_back_takes_its_contact_along(machine, change):
    """One joint bears on the pad: what was made anew there is one cause."""
    saddle = next(c for c in change.causes if c.name == "saddle ways")
    assert column("contact") in saddle.parameters
    base = next(c for c in change.causes if c.name == "base")
    assert all(p.kind == "joint" for p in base.parameters)


def test_the_walls_are_a_cause_where_a_section_changes_without_a_fill(machine):
    names = [c.name for c in causes_of(machine, ["column"])]
    assert names[0] == "column wall after the change"
    assert "column bending after the change" not in names


def test_readings_that_turn_their_sign_are_named_and_not_split(machine, change):
    values = np.full(len(NAMES), 2e-5)
    other = values.copy()
    other[0] *= -1.0
    parameters = default_parameters(machine)
    found = explain(
        change,
        campaign(machine, values, 1),
        campaign(machine, other, 2),
        parameters=parameters,
        prior_u=prior_uncertainty(machine, parameters),
    )
    assert NAMES[0] not in [(s.pull, s.gauge) for s in found.splits]
    assert any('the sign turns: "tool x" under "sideways"' in f for f in found.findings)


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((0.1, 0.5), "the fill does not hold the walls"),
        ((0.0, 0.2), "the fill holds the walls"),
        (
            (0.0, 0.5),
            "no give of the walls is needed",
        ),  # it may give half of it: nobody can say that it holds
    ],
)
def test_words_about_the_walls_claim_no_more_than_the_interval(change, ends, words):
    cause = next(c for c in change.causes if c.kind == "flex")
    assert _verdict(cause, True, ends) == words
