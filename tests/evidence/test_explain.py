"""Changes made up and taken apart again. Machine, fill and truth invented."""

import math
from dataclasses import replace

import numpy as np
import pytest
from campaigns import FULL, NAMES, log, mill, pairs_of

from strongback.change.values import Change, applied
from strongback.errors import MachineError, ReadingsError
from strongback.evidence.change import Case, ChangeModel, causes_of
from strongback.evidence.explain import explain
from strongback.evidence.model import prior_uncertainty
from strongback.evidence.reduce import reduce
from strongback.machine.ceiling import remaining
from strongback.machine.part.make import parts_of
from strongback.machine.surrogate import (
    MODULI,
    FilledParts,
    FilledSection,
    FillState,
    filled_section,
    with_modulus,
)
from strongback.materials import material
from strongback.section.outline import filled
from strongback.section.shapes import rectangular_tube
from strongback.section.store import solved_section
from strongback.section.values import Fill, stiffness_from_constants


def composite(m, hold, *, ribbed=False):
    """The mill's profile with a fill of m times the modulus meant: wall and fill add, the fill by its hold.

    In one symmetric cell the hold hardly matters; between ribs nearly everything hangs on it.
    """
    shear = np.array([[5e-8, 1e-9, 1e-7], [1e-9, 3.3e-8, 2e-7], [1e-7, 2e-7, 1e-5]])
    f = m * (0.15 + 0.85 * hold if ribbed else 0.95 + 0.05 * hold)
    return stiffness_from_constants(
        name="filled",
        EA=1e8 * (1 + 0.5 * m * hold),
        EIx=2e5 * (1 + 0.8 * f),
        EIy=1.5e5 * (1 + 0.9 * f),
        EIxy=2e4 * (1 + 0.8 * f),
        GJ=1.2e5 * (1 + 1.0 * f),
        EGamma=40.0,
        kGAx=2e7 * (1 + 0.7 * f),
        kGAy=3e7 * (1 + 0.7 * f),
        centroid=(0.01, 0.02),
        shear_centre=(-0.02, 0.03),
        shear_compliance=shear / (1 + 0.7 * f),
        mass_per_length=20.0,
    )


def made(*, ribbed=False):
    machine = mill()
    meant = composite(1.0, 1.0, ribbed=ribbed)
    machine = replace(machine, sections=(*machine.sections, ("filled", meant)))
    family = FilledSection(
        name="filled",
        moduli=np.array(MODULI),
        sliding=tuple(composite(m, 0.0, ribbed=ribbed) for m in MODULI),
        bonded=tuple(composite(m, 1.0, ribbed=ribbed) for m in MODULI),
        hold=1.0,
    )
    parts = parts_of(machine)
    fills = {"filled": "column", "column": "column"}
    filled = FilledParts(parts=parts, sections={"filled": family}, fills=fills)
    return Case(
        machine=machine,
        meant=applied(machine, Change(sections=(("profile", "filled"),))),
        parts=parts,
        filled=filled,
        causes=causes_of(machine, ["column"], filled=filled),
    )


@pytest.fixture(scope="module")
def change():
    return made()


THETA = np.array([0.4, -0.3, 0.2, 0.3, 0.1, -0.2, 0.05, -0.04])


def campaigns(change, *, rng=None, names=FULL, theta=THETA, lost=0.0, **causes):
    """Both data sets, with causes given by name as logarithms."""
    pairs = pairs_of(change.machine, names)
    model = ChangeModel(change, pairs, pairs, NAMES)
    phi = np.array(
        [lost if c.kind == "bond" else causes.get(c.name.replace(" ", "_"), 0.0) for c in change.causes]
    )
    before = model.readings("before", theta, phi)
    after = model.readings("after", theta, phi)
    return tuple(reduce(log(names, v, rng), name=n) for n, v in (("before", before), ("after", after)))


def explained(change, before, after, **more):
    return explain(
        change, before, after, parameters=NAMES, prior_u=prior_uncertainty(change.machine, NAMES), **more
    )


def test_softer_base_and_half_the_modulus_are_told_apart(change):
    """Base joint -30 %, fill modulus halved: each factor within 15 %, from noisy readings of 23 places."""
    before, after = campaigns(
        change, rng=np.random.default_rng(11), base_joint=math.log(0.7), fill_modulus=math.log(0.5)
    )
    found = explained(change, before, after)
    base, modulus = found.find("base joint"), found.find("fill modulus")
    assert base.value == pytest.approx(0.7, rel=0.15)
    assert modulus.value == pytest.approx(0.5, rel=0.15)
    assert base.low <= 0.7 <= base.high
    assert modulus.low <= 0.5 <= modulus.high
    # The other causes are not blamed.
    assert found.find("head joint").logarithm == pytest.approx(0.0, abs=3 * found.find("head joint").u)
    names = {a.name: a for a in found.alone}
    assert names["the change as meant"].excluded
    assert names["base joint"].excluded
    assert names["fill modulus"].excluded
    assert found.probability > 0.01


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_splits_hold_for_other_scatter(change, seed):
    before, after = campaigns(
        change, rng=np.random.default_rng(seed), base_joint=math.log(0.7), fill_modulus=math.log(0.5)
    )
    found = explained(change, before, after)
    assert found.find("base joint").value == pytest.approx(0.7, rel=0.15)
    assert found.find("fill modulus").value == pytest.approx(0.5, rel=0.15)


def test_parts_add_to_the_whole(change):
    """Exactly, for a large change: the integral along the way, and what is left."""
    before, after = campaigns(
        change, rng=np.random.default_rng(1), base_joint=math.log(0.4), fill_modulus=math.log(0.4)
    )
    found = explained(change, before, after)
    assert len(found.splits) == len(FULL)
    for split in found.splits:
        parts = split.meant + sum(v for _, v, _ in split.causes) + split.left
        assert split.total == pytest.approx(parts, abs=1e-5)


def test_parts_without_scatter_leave_nothing(change):
    before, after = campaigns(change, base_joint=math.log(0.7))
    split = next(s for s in explained(change, before, after).splits if s.gauge == "tool y")
    parts = {name: v for name, v, _ in split.causes}
    assert abs(split.left) < 1e-3
    assert parts["base joint"] > 0.05
    assert abs(parts["base joint"]) > 5 * max(abs(v) for n, v in parts.items() if n != "base joint")


def test_a_change_as_meant_needs_no_cause(change):
    before, after = campaigns(change, rng=np.random.default_rng(3))
    found = explained(change, before, after)
    assert not next(a for a in found.alone if a.name == "the change as meant").excluded
    assert "nothing else need have happened" in found.findings[0]
    assert "no change of base joint is needed" in found.find("base joint").verdict


def test_the_arithmetic_comes_first(change):
    """R = 1 - s (1 - r): in a loop with one way for the forces it is the solved ratio, whatever the joints."""
    before, after = campaigns(change)
    found = explained(change, before, after)
    assert found.gains[0].gauge.startswith("tool")
    for gain in found.gains:
        assert gain.promised == pytest.approx(remaining(gain.share, gain.r), abs=1e-6)
        assert gain.ceiling == pytest.approx(1 - gain.share)
        assert gain.measured.value == pytest.approx(gain.promised, rel=2e-3)


def test_lost_bond_between_ribs(change):
    """Hold and modulus act alike there: the readings tell that the fill is weak, not which of the two it is."""
    ribbed = made(ribbed=True)
    before, after = campaigns(ribbed, rng=np.random.default_rng(5), lost=0.6)
    found = explained(ribbed, before, after)
    alone = {a.name: a for a in found.alone}
    assert not alone["bond"].excluded
    assert alone["base joint"].excluded
    assert alone["the change as meant"].excluded
    for name in ("bond", "fill modulus"):
        assert found.find(name).value is None
    assert any("fill modulus and bond act alike" in f for f in found.findings)


def test_two_readings_at_the_tool_tell_no_cause(change):
    names = [("sideways", "tool x"), ("fore-aft", "tool y")]
    before, after = campaigns(change, rng=np.random.default_rng(6), names=names, base_joint=math.log(0.7))
    found = explained(change, before, after)
    assert found.find("head joint").value is None
    assert "not determined by these readings" in found.find("head joint").verdict
    assert any(f.startswith("not determined by these readings") for f in found.findings)


def test_a_heavier_weight_is_a_load_where_the_joints_are_known(change):
    """5 % more on all readings: of free joints and a free load nobody can tell; of joints that stayed it is the load."""
    before, after = campaigns(change, rng=np.random.default_rng(7), load=math.log(1.05))
    loose = explained(change, before, after).find("load")
    assert loose.value is None
    stayed = tuple(replace(c, prior_u=0.1 if c.kind == "load" else 1e-3) for c in change.causes)
    load = explained(replace(change, causes=stayed), before, after).find("load")
    assert load.low <= 1.05 <= load.high
    assert load.low > 1.0
    assert "no change is excluded" in load.verdict


def test_states_that_differ_are_reported(change):
    names = FULL[:4]
    before, after = campaigns(change, names=names)
    locked = replace(before, measured=tuple(replace(m, state=(("gib", "locked"),)) for m in before.measured))
    loose = replace(after, measured=tuple(replace(m, state=(("gib", "loose"),)) for m in after.measured))
    found = explained(change, locked, loose)
    assert [str(s) for s in found.state] == ['state "gib" differs: locked before, loose after']


def test_nothing_in_common_is_refused(change):
    before, _ = campaigns(change, names=FULL[:1])
    _, after = campaigns(change, names=FULL[1:2])
    with pytest.raises(ReadingsError, match="no pull and gauge in common"):
        explained(change, before, after)


def test_derivatives_of_both_stages(change):
    pairs = pairs_of(change.machine, FULL)
    model = ChangeModel(change, pairs, pairs, NAMES)
    k = len(change.causes)
    z = np.concatenate([THETA, [-0.3, 0.2, -0.2, 0.1, 0.1, 0.02][:k]])
    _, J = model(z)
    for i in range(len(z)):
        step = np.zeros(len(z))
        step[i] = 2e-3
        slope = (model(z + step)[0] - model(z - step)[0]) / 4e-3
        np.testing.assert_allclose(J[:, i], slope, rtol=1e-4, atol=2e-6 * np.abs(J).max())


def test_sections_that_are_not_there(change):
    with pytest.raises(MachineError, match='no member has the section "beam"'):
        applied(change.machine, Change(sections=(("beam", "filled"),)))
    with pytest.raises(MachineError, match='no section is called "solid"'):
        applied(change.machine, Change(sections=(("profile", "solid"),)))
    swapped = applied(change.machine, Change(sections=(("profile", "filled"),)))
    assert swapped.members[0].spans[0].section == "filled"
    assert swapped.members[1].spans[0].section == "casting"


def test_causes_without_a_fill_are_the_gains_of_the_section():
    names = [c.name for c in causes_of(mill(), ["column"])]
    assert names[:2] == ["column bending after the change", "column torsion after the change"]
    assert names[-2:] == ["supports", "load"]


# --- families of filled sections, solved -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tube():
    empty = rectangular_tube(material("aluminium"), 0.08, 0.12, 0.004)
    return filled(empty, {empty.cells[0].name: Fill(material=material("epoxy mineral"))})


@pytest.mark.slow
def test_family_between_its_nodes_is_the_solved_section(tube):
    """At a modulus that is no node, interpolation against a solution of its own: better than 0.1 %."""
    family = filled_section("tube", tube, lambda o: dict(solved_section(o).limits))
    for m in (0.25, 0.36, 0.85):
        solved = dict(solved_section(with_modulus(tube, m)).limits)
        for hold, kind in ((1.0, "bonded"), (0.0, "sliding")):
            found = family.at(FillState(log_modulus=math.log(m), hold=hold))
            for name in ("EA", "EIx", "EIy", "GJ", "kGAx"):
                assert getattr(found, name) == pytest.approx(getattr(solved[kind], name), rel=2e-3), (
                    m,
                    kind,
                    name,
                )
    assert family.hold == 1.0
    half = family.at(FillState(hold=0.5))
    limits = dict(solved_section(tube).limits)
    assert limits["sliding"].GJ < half.GJ < limits["bonded"].GJ
