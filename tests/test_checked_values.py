"""Values check their words, shapes and numbers where they are made, in the words of the file."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from machines import small_mill
from sections import ALUMINIUM, MINERAL, two_cells

import strongback
from strongback.cli.frame import main
from strongback.errors import InputError, MachineError, MaterialError, MixError, OutlineError, ReadingsError
from strongback.evidence.change import Cause
from strongback.evidence.readings import Reading
from strongback.machine.layout import FACTORS
from strongback.machine.loads import (
    GRAVITY,
    Combination,
    LineLoad,
    LoadCase,
    Settlement,
    Tightening,
    Warming,
)
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.part.values import Parts
from strongback.machine.plausible import unlikely
from strongback.machine.solve import solve
from strongback.machine.values import MECHANISMS, Gauge, Machine, Member, Pad, Place, PointMass, Span, Travel
from strongback.materials import material
from strongback.plausible import UnlikelySize
from strongback.project.source import nearest
from strongback.project.tables import _plain_words
from strongback.remedies.fill.pour import Access
from strongback.section import shapes
from strongback.section.check import check
from strongback.section.outline import filled
from strongback.section.values import Cell, Fill, Insert, Outline, Wall

NAN, INF = math.nan, math.inf
BOX = ((0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.0, 0.1))


@pytest.fixture
def column(mill) -> Member:
    return mill.members[0]


@pytest.fixture
def mill() -> Machine:
    return small_mill()


@pytest.mark.parametrize(
    ("change", "message", "hint"),
    [
        ({"ends": ("fixed", "free")}, 'ends[0] = "fixed" must be "held", "free" or "joined"', '"held"'),
        ({"ends": ("held", "fre")}, 'ends[1] = "fre" must be', '"free"'),
        ({"ends": "held"}, 'ends = "held" must be a list', ""),
        ({"ends": ("held",)}, "must be two words", ""),
        ({"model": "shell"}, 'model = "shell" must be', '"body"'),
        ({"model": "bem"}, 'model = "bem" must be', '"beam"'),
        ({"factors": (("bend", 0.5),)}, 'a mechanism of factors = "bend" must be "bending"', '"bending"'),
        ({"factors": (("bending", NAN),)}, "factors of bending = nan must be a finite number", ""),
        ({"factors": ("bending", 0.5)}, "where a name and 1 more are due", ""),
        ({"factor_ranges": (("torsion", 0.5),)}, "where a name and 2 more are due", ""),
        ({"start": (0.0, 0.0)}, "start = (0.0, 0.0) must be 3 numbers, not 2", "x, y, z [m]"),
        ({"end": (0.0, 0.0, NAN)}, "end[2] = nan must be a finite number", ""),
        ({"x_axis": "+x"}, 'x_axis = "+x" must be 3 numbers', "direction"),
        ({"spans": ("profile",)}, 'spans[0] = "profile" must be of type Span', ""),
        ({"name": ""}, 'name = "" must be text', ""),
    ],
)
def test_members(column, change, message, hint):
    with pytest.raises(MachineError) as caught:
        replace(column, **change)
    assert message in caught.value.message
    assert caught.value.message.startswith('member "' if "name" not in change else "member: ")
    assert hint in caught.value.hint


def test_a_misspelt_end_no_longer_twists_a_column(column):
    """It was taken as free before: twist 17.26 instead of 11.48 mrad in one case."""
    with pytest.raises(MachineError, match='help: did you mean "held"'):
        replace(column, ends=("fixed", "free"))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"force": (NAN, 0.0, 0.0)}, "force[0] = nan must be a finite number"),
        ({"force": (0.0, INF, 0.0)}, "force[1] = inf must be a finite number"),
        ({"couple": (0.0, 0.0, NAN)}, "couple[2] = nan must be a finite number"),
        ({"force": 100.0}, "force = 100.0 must be 3 numbers"),
        ({"force": "100 N"}, 'force = "100 N" must be 3 numbers'),
        ({"force": ("100", 0.0, 0.0)}, 'force[0] = "100" must be a number'),
        ({"force": (True, 0.0, 0.0)}, "force[0] = True must be a number"),
        ({"at": (0.0, 0.0)}, "at = (0.0, 0.0) must be 3 numbers, not 2"),
        ({"against": None}, "against = None must be text"),
    ],
)
def test_pulls(mill, change, message):
    with pytest.raises(MachineError, match=r'^pull "') as caught:
        replace(mill.pulls[0], **change)
    assert message in caught.value.message


def test_six_springs(mill):
    for holder in (mill.joints[0], mill.supports[0]):
        with pytest.raises(MachineError, match="must be 6 numbers, not 3") as caught:
            replace(holder, stiffness=(1e6, 1e6, 1e6))
        assert (
            caught.value.hint == 'along x, y, z [N/m], about x, y, z [N m/rad]; "rigid" and "free" are words'
        )
        for key, value, words in (
            ("stiffness", (1.0, 1.0, 1.0, NAN, 1.0, 1.0), r"stiffness\[3\] = nan"),
            ("low", (1.0,) * 5, "low = .* must be 6 numbers, not 5"),
            ("axes", ((1, 0, 0), (0, 1, 0)), "axes must be three directions"),
            ("loss_factor", -0.1, "loss_factor = -0.1 must not be below 0"),
        ):
            with pytest.raises(MachineError, match=words):
                replace(holder, **{key: value})
    with pytest.raises(MachineError, match="two names of parts"):
        replace(mill.joints[0], parts=("bed",))
    with pytest.raises(MachineError, match=r"parts = .* must be a list"):
        replace(mill.joints[0], parts="bed")


def test_other_values_of_machines(mill):
    top = (0.0, 0.0, 0.0)
    for make, words in (
        (lambda: Pad(name="p", part="column", at=top, normal=top, size=(0.1, -0.1)), r"size\[1\] = -0.1"),
        (lambda: PointMass(name="m", part="arm", at=top, mass=NAN), "mass = nan must be a finite"),
        (lambda: Gauge(name="g", part="arm", at=top, direction=(0, 0)), "direction = .* 3 numbers"),
        (lambda: Place(part="arm", at=(0.0, 0.0, NAN)), 'place on "arm": at'),
        (
            lambda: Travel(name="t", parts="arm", direction=(0, 0, 1), low=0, high=1),
            "parts = .* must be a list",
        ),
        (lambda: replace(mill, tool="arm"), 'tool = "arm" must be of type Place'),
        (lambda: replace(mill, members=(mill.joints[0],)), r"members\[0\] = .* must be of type Member"),
        (
            lambda: replace(mill, sections=(("profile", 3.0),)),
            'section "profile" = 3.0 must be of type Outline or',
        ),
        (lambda: replace(mill, pulls=mill.pulls[0]), "pulls = .* must be a list"),
        (lambda: Parameter(kind="joints", part="base", mechanism="about x"), 'did you mean "joint"'),
        (lambda: Parameter(kind="joint", part="base", mechanism="about_x"), 'did you mean "about x"'),
        (lambda: Cause(name="c", kind="stifness", prior_u=0.4), 'did you mean "stiffness"'),
    ):
        with pytest.raises(MachineError, match=words):
            make()
    with pytest.raises(MixError, match='did you mean "screw"'):
        Access(name="a", kind="screws", cell="inside", at=0.1)
    with pytest.raises(ReadingsError, match="loaded = nan"):
        Reading(pull="x", gauge="top", load=10.0, loaded=NAN)
    with pytest.raises(ReadingsError, match='branch = "upp" must be'):
        Reading(pull="x", gauge="top", load=10.0, loaded=1e-6, branch="upp")


def test_sections_without_stiffness_are_named(mill):
    with pytest.raises(MachineError, match='section "casting" of the machine has no stiffness here'):
        assemble(mill, Parts(sections={}))
    with pytest.raises(MachineError, match='no section is called "profile"'):
        assemble(replace(mill, sections={}), Parts(sections={}))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Fill(material=MINERAL, bond="slides"), 'bond = "slides" must be .*\n.*"sliding"'),
        (lambda: Fill(material=MINERAL, bond=NAN), "bond = nan must be a finite number"),
        (lambda: Fill(material=MINERAL, bond=-1.0), "bond = -1 must not be below 0"),
        (lambda: Fill(material=3.0), "material = 3.0 must be of type Material"),
        (lambda: Cell(name="a", ring=BOX, fill=MINERAL), "fill = .* must be of type Fill"),
        (
            lambda: Wall(name="w", material=ALUMINIUM, ring=((0, 0, 0), (1, 0), (1, 1))),
            r"ring\[0\] = \(0, 0, 0\)",
        ),
        (lambda: Wall(name="w", material=ALUMINIUM, ring="M 0 0 L 1 1"), "ring = .* must be a list"),
        (
            lambda: Wall(name="w", material=ALUMINIUM, ring=BOX, holes=BOX),
            r"holes\[0\]\[0\] = .* must be a list",
        ),
        (lambda: Insert(name="i", ring=BOX, material=None), "material = None must be of type Material"),
        (lambda: Outline(name="o", walls=(BOX,)), "walls = .* must be of type Wall"),
        (lambda: replace(material_stiffness(), EA=NAN), "EA = nan must be a finite number"),
        (lambda: replace(material_stiffness(), matrix=((1.0,),)), "matrix must be 8 x 8"),
        (lambda: replace(material_stiffness(), centroid=(0.0,)), "centroid = .* must be 2 numbers"),
    ],
)
def test_values_of_sections(make, words):
    with pytest.raises(OutlineError, match=words):
        make()


def material_stiffness():
    return small_mill().sections[0][1]


def test_materials():
    with pytest.raises(MaterialError, match=r'E = "210 GPa" must be a number\n.*SI'):
        replace(material("steel"), E="210 GPa")
    with pytest.raises(MaterialError, match=r"E_range = .* must be 2 numbers"):
        replace(material("steel"), E_range=(1e9,))


def test_lists_arrays_and_mappings_become_tuples(mill, column):
    """What is easily typed is taken, and kept in the one form that compares and hashes."""
    same = replace(
        column,
        start=np.array(column.start),
        ends=list(column.ends),
        factors={"bending": 0.5},
        factor_ranges={"bending": (0.4, 0.6)},
    )
    assert same == replace(column, factors=(("bending", 0.5),), factor_ranges=(("bending", 0.4, 0.6),))
    assert hash(same) == hash(replace(same, start=list(same.start)))
    assert replace(mill, sections=dict(mill.sections)) == mill
    assert replace(mill, state={"gib": "tight"}).state == (("gib", "tight"),)
    pull = replace(mill.pulls[0], force=np.array([0.0, 3, 0]))
    assert pull.force == (0.0, 3.0, 0.0)
    loop = assemble(mill, parts_of(mill))
    assert np.isfinite(solve(loop, mill.pulls[0]).tool_displacement).all()
    wall = Wall(name="w", material=ALUMINIUM, ring=np.array(BOX))
    assert wall.ring == BOX
    assert filled(two_cells(), {"a": Fill(material=MINERAL, bond=0)}).cells[0].fill.bond == 0.0


def test_a_path_may_be_text(tmp_path):
    """Every writer and reader takes a path as text."""
    from matplotlib.figure import Figure

    from strongback.project.source import read_source
    from strongback.views import style

    made = style.save(Figure(), str(tmp_path / "sub" / "empty.png"))
    assert made.read_bytes().startswith(b"\x89PNG")
    with pytest.raises(InputError, match=r'there is no file "gone.csv"'):
        read_source(str(tmp_path / "gone.csv"), "gone.csv")


def test_metres_for_millimetres_are_warned_of():
    """Python takes metres; a tube of 80 m passed without a word. It is refused now, and one of 12 m is warned of."""
    with pytest.raises(OutlineError, match="further out than 20 m"):
        check(shapes.rectangular_tube(ALUMINIUM, 80.0, 120.0, 4.0))
    with pytest.warns(
        UnlikelySize,
        match=r'"rectangular tube" measures 12 m: metres and centimetres mixed up\? that would be 120 mm',
    ):
        check(shapes.rectangular_tube(ALUMINIUM, 8.0, 12.0, 0.4))
    with pytest.warns(UnlikelySize, match=r"1.2 mm: metres and centimetres mixed up\? that would be 120 mm"):
        check(shapes.rectangular_tube(ALUMINIUM, 0.0008, 0.0012, 0.00004))
    check(shapes.rectangular_tube(ALUMINIUM, 0.08, 0.12, 0.004))  # a warning would be an error here


def test_places_far_from_their_parts_are_warned_of(mill):
    """A pull at y = 1800 mm of a 460 mm column passed."""
    assert unlikely(mill) == ()
    pull = replace(mill.pulls[0], part="column", at=(0.0, 1.8, 0.3))
    far = replace(mill, pulls=(pull, *mill.pulls[1:]))
    with pytest.warns(
        UnlikelySize, match=r'at \(0, 1800, 300\) mm is 1800 mm away from "column", which is 460 mm'
    ):
        assemble(far, parts_of(far))
    strong = replace(mill, pulls=(replace(mill.pulls[0], force=(2e5, 0.0, 0.0)), *mill.pulls[1:]))
    assert "is 200 kN: forces in code are in newtons" in unlikely(strong)[0]
    column = replace(mill.members[0], end=(0.0, 0.0, 460.0), spans=(Span(section="profile", length=460.0),))
    long = unlikely(replace(mill, members=(column, *mill.members[1:])))
    assert long[0].startswith(
        'member "column" is 4.6e+05 mm long: lengths in code are in metres, and 460 mm are 0.46'
    )


def test_check_tells_what_is_unlikely(tmp_path, capsys):
    demo = Path(strongback.__file__).parent / "project" / "demo"
    for file in demo.iterdir():
        if file.is_file():
            (tmp_path / file.name).write_bytes(file.read_bytes())
    lines = (demo / "project.toml").read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("[[pull]]"))
    place = next(i for i in range(at, len(lines)) if lines[i].startswith("at ="))
    lines[place] = 'at = "0, 1800, 300 mm"'
    (tmp_path / "project.toml").write_text("\n".join(lines), encoding="utf-8")
    assert main(["check", str(tmp_path)]) == 0
    assert "unlikely: pull" in capsys.readouterr().err
    assert main(["check", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["warnings"]
    assert any("1800" in warning["text"] for warning in told)


def test_mechanisms_are_those_of_the_loop():
    assert set(FACTORS) | {"wall", "contact"} == set(MECHANISMS)


def test_file_and_code_suggest_alike(column):
    """One helper answers both: the reader of tables and the value itself."""
    for word in ("fixed", "fre", "helt"):
        with pytest.raises(InputError) as caught:
            replace(column, ends=(word, "free"))
        context = {"expected": "'held', 'free' or 'joined'"}
        assert caught.value.hint == _plain_words("literal_error", context, word)[1]
        assert caught.value.hint == nearest(word, ("held", "free", "joined"))


def test_a_name_is_a_material_of_the_table():
    assert Fill(material="mineral casting") == Fill(material=material("mineral casting"))
    assert Wall(name="w", material="steel", ring=BOX).material == material("steel")
    assert shapes.rectangle("steel", 0.1, 0.1) == shapes.rectangle(material("steel"), 0.1, 0.1)
    with pytest.raises(MaterialError, match='did you mean "aluminium"'):
        Wall(name="w", material="aluminum", ring=BOX)


def test_a_member_of_one_section_needs_no_spans(mill):
    """Its length is the distance of its ends."""
    plain = {"name": "m", "start": (0, 0, 0), "end": (0.3, 0, 0.4), "x_axis": (0, 1, 0)}
    one = Member(**plain, section="tube")
    assert one.spans == (Span(section="tube", length=0.5),)
    assert replace(one, name="m") == one
    assert Member(**plain, spans=[("tube", 0.2), ("bar", 0.3)]).spans[1] == Span(section="bar", length=0.3)
    with pytest.raises(MachineError, match="section and spans are both given"):
        Member(**plain, section="tube", spans=(("tube", 0.5),))
    with pytest.raises(MachineError, match="spans are in order"):
        Member(**plain, spans={"tube": 0.5})
    with pytest.raises(MachineError, match="section = 5 must be text"):
        Member(**plain, section=5)


def test_words_and_mappings_stand_for_pairs_and_numbers(mill):
    base = mill.supports[0]
    assert replace(base, stiffness="rigid").stiffness == (INF,) * 6
    mixed = replace(base, stiffness=("rigid", 1e6, "free", 0.0, 0.0, 0.0)).stiffness
    assert mixed == (INF, 1e6, 0.0, 0.0, 0.0, 0.0)
    with pytest.raises(MachineError, match=r'stiffness\[0\] = "stiff" must be a number'):
        replace(base, stiffness=("stiff", *mixed[1:]))
    again = replace(mill, sections=dict(mill.sections), tool=("arm", mill.tool.at), state={"gib": "tight"})
    assert again.sections == mill.sections
    assert again.tool == Place(part="arm", at=mill.tool.at)
    assert again.state == (("gib", "tight"),)


def test_another_section_in_the_place_of_one(mill):
    bar = shapes.rectangle("steel", 0.1, 0.1)
    changed = mill.with_section(mill.sections[0][0], bar)
    name = mill.sections[0][0]
    assert changed.sections[0] == (name, replace(bar, name=name))
    assert changed.sections[1:] == mill.sections[1:]
    with pytest.raises(MachineError, match='has no section "profil"') as caught:
        mill.with_section("profil", bar)
    assert caught.value.hint == 'did you mean "profile"?'


def test_loads_from_mappings_are_those_of_lists():
    short = LoadCase(
        name="all",
        gravity="-z",
        lines={"arm": (0.0, 0.0, -50.0)},
        warmings={"arm": 5.0, "column": {"across": (0.0, 20.0), "expansion": 1e-5}},
        settlements={"base": (0.0, 0.0, -1e-4)},
        tightenings={"rod": 5e3},
    )
    assert short == LoadCase(
        name="all",
        gravity=GRAVITY,
        lines=(LineLoad(part="arm", force=(0.0, 0.0, -50.0)),),
        warmings=(
            Warming(part="arm", rise=5.0),
            Warming(part="column", across=(0.0, 20.0), expansion=1e-5),
        ),
        settlements=(Settlement(support="base", displacement=(0.0, 0.0, -1e-4)),),
        tightenings=(Tightening(part="rod", force=5e3),),
    )
    assert LoadCase(name="up", gravity="+x").gravity == (9.80665, 0.0, 0.0)
    assert Combination(name="c", terms={"a": 1, "b": -2.0}).terms == (("a", 1.0), ("b", -2.0))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: LoadCase(name="a", gravity="down"), 'gravity = "down" must be "-z"'),
        (lambda: LoadCase(name="a", warmings={"arm": {"rize": 5.0}}), 'did you mean "rise"'),
        (lambda: LoadCase(name="a", warmings={"arm": NAN}), "rise = nan must be a finite"),
        (lambda: LoadCase(name="a", settlements={"base": -1e-4}), "displacement = -0.0001 must be 3 numbers"),
        (lambda: Combination(name="c", terms={"a": NAN}), 'factor of "a" = nan must be a finite'),
        (lambda: Combination(name="c", terms={"a": "1"}), 'factor of "a" = "1" must be a number'),
    ],
)
def test_loads_say_what_they_miss(make, words):
    with pytest.raises(MachineError, match=words):
        make()
