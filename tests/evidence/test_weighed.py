"""A calibration that weighs other models, on the demo's log and on logs with slips. All data invented."""

import dataclasses
import math

import numpy as np
import pytest

from strongback import project
from strongback.errors import NotConvergedError
from strongback.evidence.calibrate import calibrate
from strongback.evidence.reduce import reduce
from strongback.evidence.robust import every_parameter
from strongback.evidence.weighed import weighed
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.project import demo_folder

BASE = tuple(Parameter(kind="joint", part="base", mechanism=f"about {a}") for a in "xy")


@pytest.fixture(scope="module")
def read():
    return project.read(demo_folder())


@pytest.fixture(scope="module")
def machine(read):
    return read.machine


@pytest.fixture(scope="module")
def parts(machine):
    return parts_of(machine, contact=True)


def log(read, gauge="", factor=1.0):
    rows = read.extras["readings"][0].readings
    return reduce(
        [
            dataclasses.replace(
                r,
                loaded=factor * r.loaded,
                zero_before=factor * r.zero_before,
                zero_after=None if r.zero_after is None else factor * r.zero_after,
            )
            if gauge in ("*", r.gauge)
            else r
            for r in rows
        ]
    ).measured


def fitted(machine, parts, measured, **more):
    return weighed(machine, parts, measured, advise=False, walls=False, **more)


@pytest.fixture(scope="module")
def sign(read, machine, parts):
    return fitted(machine, parts, log(read, "top x", -1.0))


def shaken(read, size):
    """The log with noise of one size and random sign on every reading: nothing on any list explains it."""
    rng = np.random.default_rng(2)
    rows = log(read)
    signs = rng.choice([-1.0, 1.0], len(rows))
    return [dataclasses.replace(m, value=m.value + size * s) for m, s in zip(rows, signs, strict=True)]


@pytest.fixture(scope="module")
def lost(read, machine, parts):
    return fitted(machine, parts, shaken(read, 15e-6))


def test_a_log_that_no_stiffness_fits_is_refused(read, machine, parts):
    """Noise of sixty standard uncertainties: the fit finds no rest, and gives no number."""
    with pytest.raises(NotConvergedError, match="did not settle"):
        fitted(machine, parts, shaken(read, 30e-6))


def test_every_stiffness_moves_and_two_are_told(read, machine, parts):
    """Asked for two: these, the same as with all, and a machine in which all others have moved as well."""
    found = fitted(machine, parts, log(read), parameters=BASE)
    every = fitted(machine, parts, log(read), parameters=every_parameter(machine))
    assert [p.parameter for p in found.parameters] == list(BASE)
    for p in found.parameters:
        same = every.find(p.name)
        assert (p.value, p.low, p.high) == pytest.approx((same.value, same.low, same.high), rel=1e-6)
    old, new = (next(j for j in m.joints if j.name == "spindle bearings") for m in (machine, found.machine))
    assert new.stiffness[3] != pytest.approx(old.stiffness[3], rel=0.05)


def test_taking_the_rest_as_exact_makes_intervals_too_narrow(read, machine, parts):
    found = fitted(machine, parts, log(read), parameters=BASE)
    alone = calibrate(machine, parts, log(read), parameters=BASE, advise=False)
    for wide, narrow in zip(found.parameters, alone.parameters, strict=True):
        assert math.log(wide.high / wide.low) > 1.3 * math.log(narrow.high / narrow.low)


def test_a_sound_log_has_no_marks(read, machine, parts):
    found = fitted(machine, parts, log(read))
    assert found.robust.marks == ()
    assert found.robust.group == ()
    with_all = calibrate(machine, parts, log(read), parameters=every_parameter(machine), advise=False)
    assert found.find("base nod").value == pytest.approx(with_all.find("base nod").value, rel=0.02)


def test_a_sign_is_said_in_words_with_what_would_tell(sign):
    said = "\n".join(sign.findings)
    assert 'if "top x" were read with the other sign, the fit would have a probability of 0.' in said
    assert "explains the readings badly" in said
    assert 'to tell: read "top x" again' in said
    assert sign.find("base side tilt").value is not None


def test_numbers_are_withheld_where_nothing_explains_the_readings(lost, machine):
    assert lost.robust.withheld
    assert all(p.value is None and p.low is None for p in lost.parameters)
    assert lost.machine == machine  # nothing flows on
    assert "numbers withheld" in lost.findings[0]


def test_what_rests_on_one_reading_says_so(read, machine, parts):
    found = fitted(machine, parts, log(read))
    remarks = {p.name: p.remark for p in found.parameters if p.value is not None}
    assert remarks["spindle bearings nod"] == "rests on one reading"
    assert remarks["base nod"] == ""
