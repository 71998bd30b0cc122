"""Every class of error: a real case raises it, its message says what and its hint says what to do."""

from __future__ import annotations

import inspect
from dataclasses import replace
from types import SimpleNamespace

import pytest
from machines import small_mill

import strongback.errors as errors
from strongback.ask.deflect import deflect
from strongback.errors import (
    EnvironmentFault,
    InputError,
    LimitError,
    MachineError,
    MaterialError,
    MechanismError,
    MeshError,
    MixError,
    NotConvergedError,
    OutlineError,
    PrecisionError,
    ProjectError,
    QuestionError,
    ReadingsError,
    SolveError,
    StrongbackError,
    UnitError,
)
from strongback.evidence.estimators import chord
from strongback.machine.contact import OneSided, solve_contact
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.solve import solve
from strongback.machine.statics import complementary
from strongback.materials import material
from strongback.project import read, write_text
from strongback.remedies.fill.bag import Bag
from strongback.section import _delaunay
from strongback.section.check import check
from strongback.section.mesh import mesh
from strongback.section.outline import from_rings
from strongback.section.shapes import rectangle
from strongback.units import parse

CLASSES = [c for _, c in inspect.getmembers(errors, inspect.isclass) if issubclass(c, StrongbackError)]
BOW = [(0.0, 0.0), (0.01, 0.01), (0.01, 0.0), (0.0, 0.01)]


def bow_tie(_):
    check(from_rings("bow", material("steel"), BOW))


def too_many_points(_):
    check(from_rings("comb", material("steel"), [(i * 1e-3, (i % 2) * 1e-2) for i in range(3000)]))


def loose_machine(_):
    mill = small_mill()
    assemble(replace(mill, supports=()), parts_of(mill))


def wrong_part(_):
    mill = small_mill()
    assemble(replace(mill, tool=replace(mill.tool, part="quill")), parts_of(mill))


CASES = [
    (ProjectError, lambda folder: read(folder / "none.toml"), 'there is no file "none.toml"'),
    (OutlineError, bow_tie, r"crosses itself at \(5, 5\) mm"),
    (LimitError, too_many_points, "has 3,000 points"),
    (MaterialError, lambda _: material("steal"), 'unknown material "steal"'),
    (UnitError, lambda _: parse("12", "length"), '"12" has no unit'),
    (MachineError, wrong_part, 'no part is called "quill"'),
    (MechanismError, loose_machine, "is free to"),
    (QuestionError, lambda _: deflect(small_mill(), pull="sidewys"), "there is no pull 'sidewys'"),
    (EnvironmentFault, lambda folder: write_text(folder / "none" / "a.txt", ""), "cannot be written"),
]


@pytest.mark.parametrize(("kind", "cause", "message"), CASES, ids=[kind.__name__ for kind, _, _ in CASES])
def test_a_real_case_says_what_is_wrong_and_what_to_do(tmp_path, kind, cause, message):
    with pytest.raises(kind, match=message) as caught:
        cause(tmp_path)
    assert type(caught.value) is kind
    assert str(caught.value).startswith(caught.value.message)
    assert not caught.value.hint or f"help: {caught.value.hint}" in str(caught.value)


def test_a_bag_of_grains_that_cannot_be():
    with pytest.raises(MixError, match="sieve sizes must rise"):
        Bag(name="sand", sizes=(1e-3, 3e-3, 2e-3, 4e-3), passing=(0.0, 0.3, 0.6, 1.0))


def test_readings_that_cannot_be_combined():
    readings = [SimpleNamespace(pull="side", load=load) for load in (100.0, 100.0, 200.0)]
    with pytest.raises(ReadingsError, match="under different loads cannot be taken together") as caught:
        chord(*readings, heights=(0.1, 0.2, 0.3))
    assert "one pull at one load" in caught.value.hint


def test_joints_that_do_not_settle(monkeypatch):
    monkeypatch.setattr(complementary, "ROUNDS", 0)
    mill = small_mill()
    loop = assemble(mill, parts_of(mill))
    law = {Parameter(kind="joint", part="base joint", mechanism="along z"): OneSided(preload=10.0)}
    with pytest.raises(NotConvergedError, match="open or have play did not settle") as caught:
        solve_contact(loop, mill.pulls[0], law)
    assert "preload" in caught.value.hint


def on_soft_feet_nearly_in_line(off):
    mill = small_mill()
    return replace(
        mill,
        supports=tuple(
            replace(
                f, at=(f.at[0], (k == 0) * off, f.at[2]), stiffness=(*f.stiffness[:2], 1.0, 0.0, 0.0, 0.0)
            )
            for k, f in enumerate(mill.supports)
        ),
    )


def test_soft_feet_in_line_but_for_a_hair():
    """Ten nanometres keep the bed from tipping: nobody knows them, and rounding is not far below."""
    machine = on_soft_feet_nearly_in_line(1e-8)
    loop = assemble(machine, parts_of(machine))
    with pytest.raises(PrecisionError, match=r"rounding may decide 0\.00") as caught:
        solve(loop, machine.pulls[0])
    assert '"free"' in caught.value.hint
    assert caught.value.owner.endswith("foot")
    nearly = on_soft_feet_nearly_in_line(1e-6)
    found = solve(assemble(nearly, parts_of(nearly)), nearly.pulls[0])
    assert 1e-6 < found.error < 1e-3
    assert "farther off" in found.doubt


def test_a_mesh_that_loses_the_outline(monkeypatch):
    def lose(*_):
        raise _delaunay.NotRecovered

    monkeypatch.setattr(_delaunay, "triangulated", lose)
    with pytest.raises(MeshError, match="could not keep the outline") as caught:
        mesh(rectangle(material("steel"), 0.02, 0.01), mesher="built-in")
    assert "thickness" in caught.value.hint


@pytest.mark.parametrize("kind", CLASSES, ids=[kind.__name__ for kind in CLASSES])
def test_message_and_hint_are_carried(kind):
    error = kind("the column leans", hint="shim it")
    assert (error.message, error.hint) == ("the column leans", "shim it")
    assert str(error) == "the column leans\n   help: shim it"
    assert str(kind("the column leans")) == "the column leans"


EXIT_CODES = {StrongbackError: 70, QuestionError: 2, InputError: 3, SolveError: 4, EnvironmentFault: 5}


@pytest.mark.parametrize("kind", CLASSES, ids=[kind.__name__ for kind in CLASSES])
def test_exit_codes_follow_the_tree(kind):
    base = next(c for c in kind.__mro__ if c in EXIT_CODES)
    assert kind.exit_code == EXIT_CODES[base]


def test_the_tree_is_the_one_drawn():
    drawn = {name: errors.__doc__.index(name) for name in errors.__all__}
    assert set(errors.__all__) == {c.__name__ for c in CLASSES}
    for parent, children in {
        InputError: [
            ProjectError,
            ReadingsError,
            OutlineError,
            MaterialError,
            UnitError,
            MachineError,
            MixError,
            LimitError,
        ],
        SolveError: [MechanismError, NotConvergedError, MeshError],
    }.items():
        for child in children:
            assert child.__bases__ == (parent,)
            assert drawn[child.__name__] > drawn[parent.__name__]


def test_facts_are_carried():
    with pytest.raises(OutlineError) as outline:
        bow_tie(None)
    assert outline.value.point == pytest.approx((0.005, 0.005))
    with pytest.raises(MechanismError) as loose:
        loose_machine(None)
    assert loose.value.part
    assert loose.value.motion
    assert ProjectError("x").faults == ()
