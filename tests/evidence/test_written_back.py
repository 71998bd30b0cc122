"""A calibrated machine written back as a project: read again, it is the calibrated machine."""

import math
from pathlib import Path

import pytest

from strongback import project
from strongback.errors import InputError
from strongback.evidence.calibrate import calibrate
from strongback.evidence.compare import compare
from strongback.evidence.model import MEMBER_PRIOR, prior_uncertainty
from strongback.evidence.reduce import reduce
from strongback.evidence.uncertainty import student
from strongback.machine.sections import section_stiffness
from strongback.machine.spread import budget_spread
from strongback.project.calibrated import with_calibrated_machine, with_member_factors


@pytest.fixture(scope="module")
def read():
    return project.read(Path(project.__file__).parent / "demo")


@pytest.mark.slow
def test_round_trip_of_the_demo(read):
    data = read.extras["readings"][0]
    assert not data.faults
    stiffness = section_stiffness(read.machine)
    campaign = reduce(data.readings, data.instrument, name=data.name)
    found = calibrate(read.machine, stiffness, campaign.measured, instrument=data.instrument, advise=False)
    text = with_calibrated_machine(read.text, read.machine, found.machine, source="calibrated on before")
    again = project.read_text(text, read.path)
    for a, b in zip(again.machine.joints, found.machine.joints, strict=True):
        assert a.stiffness == pytest.approx(b.stiffness, rel=1e-5)
        if b.low is not None and b.high is not None:
            for low, high, k, mine in zip(b.low, b.high, b.stiffness, a.low or (), strict=False):
                if low < k < high:
                    assert mine == pytest.approx(low, rel=1e-5)
    assert dict(again.machine.members[0].factors) == pytest.approx(
        dict(found.machine.members[0].factors), rel=1e-5
    )
    assert {name: (low, high) for name, low, high in again.machine.members[0].factor_ranges} == {
        name: (pytest.approx(low, rel=1e-5), pytest.approx(high, rel=1e-5))
        for name, low, high in found.machine.members[0].factor_ranges
    }
    # What is known of a section after the fit is what is known of it before the next.
    bending = found.find("column bending")
    index = [p.parameter for p in found.parameters].index(bending.parameter)
    (known,) = prior_uncertainty(again.machine, [bending.parameter])
    assert known == pytest.approx(
        student(found.degrees) / 1.96 * math.sqrt(found.covariance[index, index]), rel=0.02
    )
    assert known < MEMBER_PRIOR
    # The new file predicts what was read, and its budgets carry the intervals of the fit.
    there = compare(again.machine, stiffness, campaign.measured, parameters=())
    assert there.chi_squared == pytest.approx(found.fit.chi_squared, rel=0.3, abs=2.0)
    pull = read.machine.pulls[0]
    wide = budget_spread(read.machine, stiffness, pull, draws=128)
    narrow = budget_spread(again.machine, stiffness, pull, draws=128)
    assert narrow.total[2] - narrow.total[0] < 0.8 * (wide.total[2] - wide.total[0])
    assert '"calibrated on before"' in text


def test_factors_that_are_there_are_replaced():
    text = '[[member]]\nname = "a"\nfactor = { bending = 1.0, torsion = 2 } # mine\n'
    assert with_member_factors(text, {"a": {"torsion": (0.5, 0.5, 0.5)}}) == text.replace("2 }", "0.5 }")
    ranged = with_member_factors(text, {"a": {"torsion": (0.5, 0.4, 0.6), "shear": (0.9, 0.9, 0.9)}})
    assert "torsion = { value = 0.5, low = 0.4, high = 0.6 }, shear = 0.9 } # mine" in ranged
    # What was a number may become a range, and the other way round; a table of its own takes a line.
    assert with_member_factors(ranged, {"a": {"torsion": (2.0, 2.0, 2.0)}}).startswith(text[:-10])
    table = '[[member]]\nname = "a"\n[member.factor]\nbending = 1.1\n'
    assert with_member_factors(table, {"a": {"wall": (0.9, 0.8, 1.0)}}) == (
        table + "wall = { value = 0.9, low = 0.8, high = 1 }\n"
    )
    with pytest.raises(InputError, match='there is no member "b"'):
        with_member_factors(text, {"b": {"shear": (0.5, 0.5, 0.5)}})
