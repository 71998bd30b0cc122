"""The catalogue: every option is a change of a machine that says what it costs, and stiffens what it says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strongback.machine.part.kinds import as_beams
from strongback.machine.part.make import parts_of
from strongback.machine.sections import section_stiffness
from strongback.project import read
from strongback.remedies.options.catalogue import CATALOGUE, catalogue
from strongback.remedies.options.catalogue.closing_plate import open_side
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.states import option_sets
from strongback.remedies.options.touched import touched

EXAMPLES = Path(__file__).parents[3] / "examples"
ELSEWHERE = {"fill of outer cells", "closing plate", "side plates", "carbon strips"}
NAMES = ("iron-mill", "tube-mill", "portal-router", "tapping-stand")


def as_stated(name):
    return read(EXAMPLES / name).machine


def as_lines(name):
    """Every member a line of sections: bodies know no seams, and so no plate on screws along them."""
    return as_beams(as_stated(name))


@pytest.fixture(scope="module", params=NAMES)
def machine(request):
    return as_stated(request.param)


def test_there_are_at_least_twenty_and_every_one_fits_some_machine():
    assert len(CATALOGUE) >= 20
    fitting = {
        entry.__name__
        for name in NAMES
        for machine in (as_stated(name), as_lines(name))
        for entry in CATALOGUE
        if entry(machine)
    }
    assert {entry.__name__ for entry in CATALOGUE} - fitting <= {"fill_outer"}


def test_every_option_says_what_it_is(machine):
    options = catalogue(machine)
    assert len(options) >= 15
    assert len({o.name for o in options}) == len(options)
    names = {entry(machine).name for entry in CATALOGUE if entry(machine)}
    for option in options:
        assert option.changes
        assert option.source
        assert option.hours >= 0.0
        if option.stiffens:
            found = touched(machine, option.on(machine))
            assert found.members or found.holders or found.new or found.geometry, option.name
        assert all(other in names | ELSEWHERE for other in option.excludes)


def test_what_adds_no_stiffness_is_marked(machine):
    dashes = {o.name for o in catalogue(machine) if not o.stiffens}
    assert {"ballast in the bed", "tuned mass", "damping layers", "other speed or cutter"} <= dashes


def test_nothing_is_tied_to_the_open_end_of_a_body():
    names = {o.name for o in catalogue(read(EXAMPLES / "tube-mill").machine)}
    assert not {"back stay", "tie to a wall", "tie rod"} & names
    assert {"cap plate", "diaphragm", "epoxy mineral fill"} <= names


def test_parts_are_found_by_how_they_stand():
    found = {name: roles_of(as_stated(name)) for name in NAMES}
    assert (found["iron-mill"].column.name, found["iron-mill"].base.name) == ("column", "base")
    assert found["portal-router"].main.name == "beam"
    assert found["tube-mill"].body
    assert found["iron-mill"].body
    assert not roles_of(as_lines("iron-mill")).body


def test_the_open_side_of_a_channel_is_closed_by_a_plate_that_slips():
    machine = as_lines("iron-mill")
    column = roles_of(machine)
    assert open_side(column.outline) == "+y"
    option = next(o for o in catalogue(machine) if o.name == "closing plate")
    there = option.on(machine)
    new = there.members[0].spans[0].section
    outline = dict(there.sections)[new]
    assert outline.seams[0].stiffness == pytest.approx(2 * 8e6 / 0.05)
    found = section_stiffness(there)
    # Thin walls: GJ of the open parts and 4 A0² / (sum s/(G t) + 1/K of either seam), sizes at mid-lines: web 14 mm,
    # flanges 13 mm, plate 6 mm; G of iron 110/2.52 GPa, of steel 210/2.6 GPa.
    A0 = 0.147 * (0.055 + 0.003 + 0.045)
    iron, steel = 110e9 / 2.52, 210e9 / 2.6
    flow = 0.147 / (0.014 * iron) + 2 * 0.103 / (0.013 * iron) + 0.147 / (0.006 * steel) + 2 / 160e6
    plate = steel * 0.16 * 0.006**3 / 3
    assert found[new].GJ == pytest.approx(found["column"].GJ + plate + 4 * A0**2 / flow, rel=0.05)
    assert found[new].slips[0].stiffness == pytest.approx(2 * 8e6 / 0.05)


@pytest.mark.slow
def test_beams_of_the_examples_are_stiffened_by_every_option():
    for name in ("iron-mill", "tapping-stand"):
        machine = as_lines(name)
        pulls = [p for p in machine.pulls if np.any(p.force)]
        options = [
            o for o in catalogue(machine) if o.stiffens and not touched(machine, o.on(machine)).geometry
        ]
        sets = option_sets(machine, parts_of(machine), options, pulls)
        # A steel column in place of one of iron, or a fill, is tested like the rest and passes.
        assert sets.not_monotone == ()
        each = np.abs(sets.readings(np.eye(len(options), dtype=bool)))
        before = np.abs(sets.readings(np.zeros((1, len(options)), dtype=bool)))
        assert np.all(each.min(axis=1) <= before.max())
