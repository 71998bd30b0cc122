"""The best set of options against plain enumeration, its bounds against every completion, and what it refuses to prove."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from strongback.change.values import Change
from strongback.errors import LimitError, MachineError
from strongback.machine.along import along_pulls
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.values import COMPONENTS, Pull, Support
from strongback.project import read
from strongback.remedies.options.catalogue import catalogue
from strongback.remedies.options.proof import Problem, best_set, enumerated, nearest_set
from strongback.remedies.options.states import option_sets
from strongback.remedies.options.values import Option, with_options

EXAMPLES = Path(__file__).parents[3] / "examples"
COUNT = 16


@pytest.fixture(scope="module")
def mill():
    """The iron mill, invented, all lines of sections, two pulls against the ground, two that the table takes back."""
    machine = as_beams(read(EXAMPLES / "iron-mill").machine)
    at = machine.tool.at
    pulls = (
        Pull(name="sideways", part="spindle", at=at, force=(100, 0, 0)),
        Pull(name="fore-aft", part="spindle", at=at, force=(0, -100, 0)),
        Pull(name="jack", part="spindle", at=at, force=(0, 0, 300), against="table"),
        Pull(name="sideways jack", part="spindle", at=at, force=(100, 0, 0), against="table"),
    )
    return dataclasses.replace(machine, pulls=pulls)


def random_options(machine, seed):
    """Joints and feet made stiffer by random factors, four random braces of the column."""
    rng = np.random.default_rng(seed)
    holders = [(kind, h) for kind, h in machine.holders()]
    found = []
    for i in range(COUNT - 4):
        kind, holder = holders[rng.integers(len(holders))]
        known = [c for c, k in zip(COMPONENTS, holder.stiffness, strict=True) if 0.0 < k < np.inf]
        some = rng.permutation(known)[: rng.integers(1, len(known) + 1)]
        factors = tuple(
            (Parameter(kind=kind, part=holder.name, mechanism=str(c)), float(rng.uniform(1.05, 4.0)))
            for c in some
        )
        found.append(option(f"joint {i}", Change(factors=factors), rng))
    for i in range(4):
        k = tuple(float(v) for v in rng.uniform(0, 2e7, 3) * (rng.random(3) < 0.7)) + (0.0,) * 3
        at = (0.0, 0.0, float(rng.uniform(0.3, 0.56)))
        brace = Support(name=f"brace {i}", part="column", at=at, stiffness=k)
        found.append(option(f"brace {i}", Change(supports=(brace,)), rng))
    return tuple(found)


def option(name, change, rng):
    cost = float(np.round(rng.uniform(5, 100), 2))
    return Option(
        name=name, make=lambda _: change, changes="", cost=cost, hours=1.0, mass=float(rng.uniform(-1, 5))
    )


def tabled(sets):
    """Values of all subsets, looked up."""
    every = (np.arange(1 << COUNT)[:, None] >> np.arange(COUNT)) & 1 == 1
    table = sets.values(every)
    return lambda asked: table[asked @ (1 << np.arange(COUNT))], table


def asked(sets, evaluate, table, rng, chosen):
    """A problem with limits at some of what can be reached."""
    reached = np.abs(table[[0, -1]][:, chosen, 0])
    limits = reached[0] - rng.uniform(0.2, 0.9, len(chosen)) * (reached[0] - reached[1])
    mass = np.array([o.mass for o in sets.options])
    return Problem(
        names=tuple(o.name for o in sets.options),
        cost=np.array([o.cost for o in sets.options]) * rng.uniform(0.5, 2.0, COUNT).round(2),
        mass=mass,
        evaluate=lambda s: evaluate(s)[:, chosen],
        limits=limits,
        direct=sets.direct[chosen],
        most_mass=float(rng.uniform(0.35, 1.0) * np.maximum(mass, 0.0).sum()),
        excludes=sets.excludes + ((0, 1), (3, 7)) * int(rng.integers(2)),
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_sixteen_options_against_every_subset(mill, seed):
    """Eight catalogues a seed: their own prices, limits of mass and of one to three readings, direct and not."""
    sets = option_sets(mill, parts_of(mill), random_options(mill, seed), mill.pulls)
    assert sets.not_monotone == ()
    assert sets.direct.tolist() == [False, False, True, True]
    evaluate, table = tabled(sets)
    rng = np.random.default_rng(1000 + seed)
    met = 0
    for _ in range(8):
        chosen = rng.permutation(4)[: rng.integers(1, 4)]
        problem = asked(sets, evaluate, table, rng, chosen)
        found, true = best_set(problem), enumerated(problem)
        assert found.proved
        assert (found.names, found.meets) == (true.names, true.meets)
        assert found.cost == pytest.approx(true.cost, rel=1e-12)
        assert found.nodes < 1 << (COUNT - 2)
        if found.meets:
            met += 1
            assert found.floor == pytest.approx(found.cost)
        else:
            assert nearest_set(problem).floor == pytest.approx(
                enumerated(problem, by_cost=False).floor, rel=1e-12
            )
    assert met >= 4


def test_all_completions_lie_between_the_bounds(mill):
    """r'Bf + (r'Gf -+ sqrt(r'Gr f'Gf)) / 2, at 4000 completions of random nodes; direct readings between the ends."""
    sets = option_sets(mill, parts_of(mill), random_options(mill, 99), mill.pulls)
    rng = np.random.default_rng(5)
    S = rng.random((4000, COUNT)) < 0.3
    R = rng.random((4000, COUNT)) < 0.5
    T = R & (rng.random((4000, COUNT)) < 0.5)
    A, X, B = sets.values(S), sets.values(S | T), sets.values(S | R)
    G = A - B
    half = 0.5 * np.sqrt(np.maximum(G[..., 1], 0.0) * np.maximum(G[..., 2], 0.0))
    middle = B[..., 0] + 0.5 * G[..., 0]
    slack = 1e-12 * np.abs(A[..., 0])
    assert np.all(np.abs(X[..., 0] - middle) <= half + slack)
    direct = sets.direct
    assert np.all(X[..., direct, 0] <= A[..., direct, 0] + slack[:, direct])
    assert np.all(X[..., direct, 0] >= B[..., direct, 0] - slack[:, direct])


def test_a_pull_against_the_ground_may_read_more_when_something_is_stiffened(mill):
    """Read against the table, it is no compliance: that is why it is bounded from both sides and not taken as falling."""
    sets = option_sets(mill, parts_of(mill), random_options(mill, 3), mill.pulls)
    rng = np.random.default_rng(0)
    S = rng.random((3000, COUNT)) < 0.5
    more = S.copy()
    more[np.arange(3000), rng.integers(COUNT, size=3000)] = True
    rise = np.abs(sets.readings(more)) / np.abs(sets.readings(S)) - 1.0
    assert rise[:, ~sets.direct].max() > 1e-4
    assert rise[:, sets.direct].max() < 1e-12


def test_every_subset_is_the_machine_solved_with_it(mill):
    options = tuple(o for o in catalogue(mill) if o.stiffens and o.name != "lower head")
    assert len(options) >= 12
    sets = option_sets(mill, parts_of(mill), options, mill.pulls)
    assert sets.not_monotone == ()
    rng = np.random.default_rng(1)
    for _ in range(6):
        chosen = rng.random(len(options)) < 0.4
        there = with_options(mill, tuple(o for o, on in zip(options, chosen, strict=True) if on))
        exact = along_pulls(assemble(there, parts_of(there)), mill.pulls)
        assert sets.readings(chosen[None])[0] == pytest.approx(exact, rel=1e-9)


def test_what_makes_a_part_softer_is_named(mill):
    rng = np.random.default_rng(0)
    own = Parameter(kind="joint", part="base", mechanism="about x")
    soft = option("soft", Change(factors=((own, 0.5),)), rng)
    stiff = option("stiff", Change(factors=((own, 2.0),)), rng)
    assert option_sets(mill, parts_of(mill), (soft, stiff), mill.pulls).not_monotone == ("soft",)
    thinner = option("other", Change(sections=(("column", "head"),)), rng)
    assert "other" in option_sets(mill, parts_of(mill), (thinner, stiff), mill.pulls).not_monotone


def test_what_moves_is_refused_and_a_couple_too(mill):
    lower = next(o for o in catalogue(mill) if o.name == "lower head")
    with pytest.raises(MachineError, match="changes the geometry"):
        option_sets(mill, parts_of(mill), (lower,), mill.pulls)
    twist = Pull(name="twist", part="column", at=(0, 0, 0.5), couple=(0, 0, 1))
    with pytest.raises(MachineError, match="is a couple"):
        option_sets(mill, parts_of(mill), (), (twist,))


def series(n, seed, spread=0.0):
    """Springs in series, one an option: compliances and costs alike, the hardest for a bound."""
    rng = np.random.default_rng(seed)
    base = np.full(n, 1.0)

    def evaluate(sets):
        c = (base / np.where(sets, 2.0, 1.0)).sum(axis=1)
        return np.repeat(c[:, None, None], 3, axis=2)

    cost = 10.0 + spread * rng.uniform(-1, 1, n)
    return Problem(
        names=tuple(f"o{i:02}" for i in range(n)),
        cost=cost,
        mass=np.zeros(n),
        evaluate=evaluate,
        limits=np.array([0.75 * n]),
        direct=np.array([True]),
    )


def test_past_the_cap_nothing_is_called_proved():
    found = best_set(series(28, 0, 1.0), cap=0.3)
    assert not found.proved
    assert found.meets
    assert 0.0 < found.floor <= found.cost
    assert len(found.names) == 14


def test_dominance_leaves_the_answer():
    plain = series(12, 1, 3.0)
    order = np.argsort(plain.cost)
    pairs = tuple((int(a), int(b)) for k, a in enumerate(order) for b in order[k + 1 :])
    fast = best_set(dataclasses.replace(plain, dominates=pairs))
    slow, true = best_set(plain), enumerated(plain)
    assert fast.cost == slow.cost == pytest.approx(true.cost)
    assert fast.nodes < slow.nodes / 4


def test_ties_go_by_the_worst_ratio_and_then_by_name():
    problem = series(6, 0)
    found, true = best_set(problem), enumerated(problem)
    assert found.names == true.names == ("o00", "o01", "o02")


def test_a_part_taken_away_makes_room_for_another():
    """Mass -4 kg of a riser lets a plate of 6 kg meet a limit of 3 kg."""
    problem = dataclasses.replace(
        series(2, 0), mass=np.array([-4.0, 6.0]), limits=np.array([1.2]), most_mass=3.0
    )
    assert best_set(problem).names == ("o00", "o01")
    assert not best_set(dataclasses.replace(problem, most_mass=1.0)).meets


def test_nothing_to_do_and_nothing_that_helps():
    easy = dataclasses.replace(series(4, 0), limits=np.array([10.0]))
    assert (best_set(easy).names, best_set(easy).meets, best_set(easy).cost) == ((), True, 0.0)
    hard = dataclasses.replace(series(4, 0), limits=np.array([1.0]))
    found, near = best_set(hard), nearest_set(hard)
    assert not found.meets
    assert found.proved
    assert found.floor == np.inf
    assert near.floor == pytest.approx(2.0)
    assert len(near.names) == 4


def test_bad_input():
    with pytest.raises(LimitError, match="must be above 0"):
        dataclasses.replace(series(2, 0), limits=np.array([0.0]))
    with pytest.raises(LimitError, match="costs of options"):
        dataclasses.replace(series(2, 0), cost=np.array([-1.0, 1.0]))
    with pytest.raises(LimitError, match="too many subsets"):
        enumerated(series(21, 0))
