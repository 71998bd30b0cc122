"""Options weighed: gains against plain solutions, probabilities against closed forms, the best set, the command."""

from __future__ import annotations

import dataclasses
import json
import math
import shutil
from pathlib import Path

import numpy as np
import pytest

import strongback as sb
from strongback.change.values import Change
from strongback.cli.frame import main
from strongback.errors import QuestionError
from strongback.machine.along import along_pulls
from strongback.machine.contact import OneSided
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.values import GROUND, RIGID, Machine, Member, Place, Pull, Span, Support
from strongback.remedies.options.search import Target
from strongback.remedies.options.values import Option
from strongback.remedies.options.weighed import weigh
from strongback.section.values import stiffness_from_constants

MILL = Path(__file__).parents[3] / "examples" / "iron-mill"


@pytest.fixture(scope="module")
def mill(tmp_path_factory):
    """The iron mill, its column a line of sections, which takes a plate on screws over its open side."""
    there = shutil.copytree(MILL, tmp_path_factory.mktemp("options") / "iron-mill")
    text = (there / "project.toml").read_text(encoding="utf-8")
    own, column = '[[member]]\nname = "column"\n', '[[member]]\nname = "column"\nmodel = "beam"\n'
    assert own in text
    (there / "project.toml").write_text(text.replace(own, column, 1), encoding="utf-8")
    return str(there)


@pytest.fixture(scope="module")
def weighed(mill):
    return sb.options(mill, under={"sideways": 85e-6}, most_mass=10.0, most_cost=200.0)


@pytest.mark.slow
def test_gains_are_those_of_the_machine_solved_with_the_option(weighed):
    machine = weighed.machine
    pulls = weighed.pulls
    before = along_pulls(assemble(machine, parts_of(machine)), pulls)
    assert dict(weighed.before) == pytest.approx(dict(zip([p.name for p in pulls], before, strict=True)))
    from strongback.remedies.options.catalogue import catalogue

    for option in catalogue(machine):
        own = weighed[option.name]
        if not option.stiffens:
            assert own.gain == ()
            assert own.probability_best is None
            continue
        there = option.on(machine)
        named = {p.name: p for p in there.pulls}
        after = along_pulls(assemble(there, parts_of(there)), [named[p.name] for p in pulls])
        for k, gain in enumerate(own.gain):
            assert gain.ratio == pytest.approx(after[k] / before[k], rel=1e-9)
            assert gain.saved == pytest.approx(before[k] - after[k], abs=1e-15)
            assert gain.low - 1e-9 <= gain.ratio <= gain.high + 1e-9
            if gain.ceiling is not None and pulls[k].name == "jack":
                assert gain.ceiling <= gain.ratio + 1e-9


@pytest.mark.slow
def test_the_best_set_is_proved_and_cheap(weighed):
    best = weighed.best_set
    assert best.meets
    assert best.proved
    assert best.names == ("closing plate",)
    assert dict(best.values)["sideways"] < 85e-6
    assert best.floor == pytest.approx(best.cost)
    assert set(best.searched) == {o.name for o in weighed.options if o.gain}
    assert weighed["dry sand"].gain == ()
    assert weighed["lower head"].alternative
    assert sum(o.probability_best for o in weighed.options if o.gain) == pytest.approx(1.0, abs=0.01)
    assert all(o.regret >= -1e-12 for o in weighed.options if o.gain)
    two = weighed.probability_better("steel column", "closing plate")
    assert two + weighed.probability_better("closing plate", "steel column") == pytest.approx(1.0)


@pytest.mark.slow
def test_the_command_gives_the_same_numbers(weighed, mill, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ["options", mill, "--under", "sideways=85 um", "--mass", "10 kg", "--money", "200"]
    assert main([*words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["schema"] == "strongback.options.2"
    first = found["options"][0]
    assert set(first) >= {"name", "gain", "cost", "hours", "mass_kg", "probability_best", "dominated"}
    assert set(first["gain"][0]) >= {"pull", "ratio", "low", "high"}
    assert found["best_set"]["names"] == ["closing plate"]
    assert found["best_set"]["proved"] is True
    assert found["best_set"]["nodes"] > 1
    assert [o["name"] for o in found["options"]] == [o.name for o in weighed.options]
    assert first["gain"][0]["ratio"] == weighed.options[0].gain[0].ratio
    text = weighed.text()
    assert max(map(len, text.splitlines())) <= 80
    assert "Enough: closing plate" in text
    assert "proved over all subsets" in text
    assert "(sole plate)" in text
    assert len(list(weighed.figures())) == 3


def post(k=1e6, force=100.0):
    """A rigid post on one spring along y with a range, a brace beside: closed forms."""
    bar = stiffness_from_constants(name="bar", EA=1e15, EIx=1e15, EIy=1e15, GJ=1e15, kGAx=1e15, kGAy=1e15)
    member = Member(
        name="post",
        start=(0, 0, 0),
        end=(0, 0, 1),
        x_axis=(1, 0, 0),
        spans=(Span(section="bar", length=1.0),),
    )
    foot = Support(
        name="foot",
        part="post",
        at=(0, 0, 0),
        stiffness=(RIGID, k, RIGID, RIGID, RIGID, RIGID),
        low=(RIGID, k / 2, RIGID, RIGID, RIGID, RIGID),
        high=(RIGID, k * 2, RIGID, RIGID, RIGID, RIGID),
    )
    return Machine(
        name="post",
        sections=(("bar", bar),),
        members=(member,),
        supports=(foot,),
        tool=Place(part="post", at=(0, 0, 1)),
        work=Place(part=GROUND, at=(0, 0, 1)),
        pulls=(Pull(name="push", part="post", at=(0, 0, 1), force=(0, force, 0)),),
    )


def stiffer(name, factor, cost):
    own = Parameter(kind="support", part="foot", mechanism="along y")
    return Option(
        name=name, make=lambda _: Change(factors=((own, factor),)), changes="foot", cost=cost, hours=1.0
    )


def brace(k, cost):
    spring = Support(name="brace", part="post", at=(0, 0, 1), stiffness=(0, k, 0, 0, 0, 0))
    return Option(
        name="brace", make=lambda _: Change(supports=(spring,)), changes="brace", cost=cost, hours=1.0
    )


def test_the_probability_of_the_better_of_two_is_that_of_the_closed_form():
    """A foot x 1.5 leaves 1/1.5 whatever k is; a brace of 0.6e6 N/m leaves k/(k + 0.6e6): better where k < 1.2e6.

    k is log-normal about 1e6, 95 % between half and twice: P(k < 1.2e6) = Phi(ln 1.2 / (ln 4 / 3.92)).
    """
    machine = post()
    found = weigh(machine, parts_of(machine), [stiffer("foot", 1.5, 10.0), brace(6e5, 10.0)], machine.pulls)
    sigma = math.log(4.0) / (2.0 * 1.959963984540054)
    true = 0.5 * (1.0 + math.erf(math.log(1.2) / sigma / math.sqrt(2.0)))
    assert found.probability_better("brace", "foot") == pytest.approx(true, abs=0.01)
    assert found["brace"].probability_best == pytest.approx(true, abs=0.01)
    assert found["foot"].gain[0].low == pytest.approx(1 / 1.5, rel=1e-6)
    low, high = (k / (k + 6e5) for k in (5e5, 2e6))
    assert (found["brace"].gain[0].low, found["brace"].gain[0].high) == pytest.approx((low, high), rel=0.01)
    assert found["brace"].gain[0].ratio == pytest.approx(1 / 1.6, rel=1e-6)
    assert found["foot"].gain[0].ceiling == pytest.approx(0.0, abs=1e-6)
    assert found.settles == "foot, along y"
    assert not found["foot"].dominated
    # Regret of the foot: the mean of 1/1.5 - k/(k + 0.6e6) where that is more than nothing.
    z = np.linspace(-5, 5, 20001)
    k = 1e6 * np.exp(sigma * z)
    lost = np.maximum(1 / 1.5 - k / (k + 6e5), 0.0)
    weight = np.exp(-0.5 * z**2)
    assert found["foot"].regret == pytest.approx(float((lost * weight).sum() / weight.sum()), rel=0.03)


def test_targets_that_nothing_meets_say_how_near_and_what_binds():
    machine = post()
    options = [stiffer("foot", 2.0, 30.0), brace(1e6, 50.0)]
    found = weigh(
        machine,
        parts_of(machine),
        options,
        machine.pulls,
        targets=[Target(pull=machine.pulls[0], most=30e-6)],
        most_cost=60.0,
    )
    best = found.best_set
    # 100 N on 1e6 N/m: 100 µm; with either of them 50, with both 33.3 µm for 80 euro.
    assert not best.meets
    assert best.nearness == pytest.approx(50.0 / 30.0, rel=1e-6)
    assert "push" in best.binding
    assert math.isinf(best.floor)
    both = weigh(
        machine,
        parts_of(machine),
        options,
        machine.pulls,
        targets=[Target(pull=machine.pulls[0], most=35e-6)],
    )
    assert set(both.best_set.names) == {"foot", "brace"}
    assert both.best_set.cost == 80.0
    assert dict(both.best_set.values)["push"] == pytest.approx(100 / 3e6, rel=1e-6)


def test_never_proved_where_a_part_that_opens_changes_its_state():
    machine = post()
    tip = Support(name="heel", part="post", at=(0, 0, 1), stiffness=(0, 1e6, 0, 0, 0, 0))
    machine = dataclasses.replace(machine, supports=(*machine.supports, tip))
    law = {Parameter(kind="support", part="heel", mechanism="along y"): OneSided(preload=20.0)}
    for preload, proved in ((20.0, False), (90.0, True)):
        law = {next(iter(law)): OneSided(preload=preload)}
        found = weigh(
            machine,
            parts_of(machine),
            [stiffer("foot", 1.5, 10.0)],
            machine.pulls,
            targets=[Target(pull=machine.pulls[0], most=45e-6)],
            laws=law,
        )
        assert found.best_set.proved is proved
        assert ("heel" in found.best_set.why_not) is not proved


def test_questions_that_name_what_is_not_there(mill):
    machine = post()
    with pytest.raises(QuestionError, match="no pull 'pusk'"):
        sb.options(machine, under={"pusk": 1e-6})
    with pytest.raises(QuestionError, match="no option"):
        sb.options(machine, without="nothing of the kind")
    assert main(["options", mill, "--under", "sideways=85 kg"]) == 2
