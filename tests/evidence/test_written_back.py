"""A calibrated machine written back as a project: read again, it is the calibrated machine."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from strongback import project
from strongback.cli.frame import main
from strongback.errors import InputError, ProjectError
from strongback.evidence.calibrate import calibrate
from strongback.evidence.compare import compare
from strongback.evidence.model import MEMBER_PRIOR, prior_uncertainty
from strongback.evidence.reduce import reduce
from strongback.evidence.uncertainty import student
from strongback.machine.part.make import parts_of
from strongback.machine.spread import budget_spread
from strongback.project.calibrated import (
    with_calibrated_machine,
    with_correlation_file,
    with_member_factors,
    write_calibrated,
)


@pytest.fixture(scope="module")
def read():
    return project.read(Path(project.__file__).parent / "demo")


@pytest.mark.slow
def test_round_trip_of_the_demo(read):
    data = read.extras["readings"][0]
    assert not data.faults
    parts = parts_of(read.machine, contact=True)
    campaign = reduce(data.readings, data.instrument, name=data.name)
    found = calibrate(read.machine, parts, campaign.measured, instrument=data.instrument, advise=False)
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
    # What is known of a member after the fit is what is known of it before the next.
    walls = found.find("column, wall")
    index = [p.parameter for p in found.parameters].index(walls.parameter)
    (known,) = prior_uncertainty(again.machine, [walls.parameter])
    assert known == pytest.approx(
        student(found.degrees) / 1.96 * math.sqrt(found.covariance[index, index]), rel=0.02
    )
    assert known < MEMBER_PRIOR
    # The new file predicts what was read, and its budgets carry the intervals of the fit.
    there = compare(again.machine, parts, campaign.measured, parameters=())
    assert there.chi_squared == pytest.approx(found.fit.chi_squared, rel=0.3, abs=2.0)
    pull = read.machine.pulls[0]
    wide = budget_spread(read.machine, parts, pull, draws=128)
    narrow = budget_spread(again.machine, parts, pull, draws=128)
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


@pytest.mark.slow
def test_what_is_known_together_is_written_and_read_again(read, tmp_path):
    """A prediction at the tool hangs on sums of joints that the readings know far better than each joint."""
    data = read.extras["readings"][0]
    parts = parts_of(read.machine, contact=True)
    campaign = reduce(data.readings, data.instrument, name=data.name)
    found = calibrate(read.machine, parts, campaign.measured, instrument=data.instrument, advise=False)
    file = write_calibrated(read, found.machine, tmp_path / "mill", "calibrated on before")
    again = project.read(file).machine
    assert len(again.correlation) == len(found.machine.correlation) > 50
    for mine, its in zip(again.correlation, found.machine.correlation, strict=True):
        assert mine[:2] == its[:2]
        assert mine[2] == pytest.approx(its[2], abs=5e-5)
    there = compare(again, parts, campaign.measured)
    fitted = {(r.measured.pull, r.measured.gauge): r for r in found.after.rows}
    ratios = []
    for row in (
        there.rows
    ):  # never less than after the fit; more where an interval was profiled and is wider than its u
        ratios.append(row.u_predicted / fitted[row.measured.pull, row.measured.gauge].u_predicted)
    assert 0.98 <= min(ratios) <= np.median(ratios) <= 1.05
    assert max(ratios) <= 1.6
    alone = compare(replace(again, correlation=()), parts, campaign.measured)
    tool = [
        next(r.u_predicted for r in c.rows if r.measured.gauge == "tool x" and r.measured.pull == "sideways")
        for c in (there, alone)
    ]
    assert tool[0] < 0.4 * tool[1]
    spreads = [
        budget_spread(m, parts, read.machine.pulls[0], draws=256).total
        for m in (again, replace(again, correlation=()))
    ]
    assert spreads[0][2] - spreads[0][0] < 0.5 * (spreads[1][2] - spreads[1][0])


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ('"base, about x";"base, about q";0.5', 'no stiffness is called "base, about q"'),
        ('"base, about x";"base, about y";1.5', '"1.5" is no correlation'),
        ('"base, about x";"base, about y"', "2 columns, 3 are due"),
    ],
)
def test_a_table_of_correlations_with_a_fault(tmp_path, row, message):
    folder = tmp_path / "mill"
    assert main(["new", str(folder), "--demo"]) == 0
    file = folder / "project.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(with_correlation_file(text), encoding="utf-8")
    (folder / "correlation.csv").write_text(f"first;second;correlation\n{row}\n", encoding="utf-8")
    with pytest.raises(ProjectError) as caught:
        project.read(folder)
    assert "correlation.csv:2:" in str(caught.value)
    assert message in str(caught.value)
