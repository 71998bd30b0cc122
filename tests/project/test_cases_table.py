"""Cases in the project file: what is written is what is solved, and every slip is named where it stands."""

from __future__ import annotations

import pytest

from strongback import read
from strongback.errors import ProjectError
from strongback.project import demo_folder

DEMO = (demo_folder() / "project.toml").read_text(encoding="utf-8")
GOOD = """
[[case]]
name = "cut"
pulls = ["sideways", "fore-aft"]
gravity = "-z"
[[case.line]]
part = "arm"
force = "120 N/m"
direction = "-z"
high = "100 mm"
offset = "1, 2 mm"
[[case.warm]]
part = "column"
rise = "5 K"
across = "50, 0 K/m"
[[case.warm]]
part = "spindle"
rise = "12 K"
expansion = "11.5e-6 1/K"
[[case.settle]]
support = "rear foot"
displacement = "0, 0, -0.1 mm"
rotation = "0, 0.2, 0 mrad"
[[case.tighten]]
part = "arm"
force = "2 kN"

[[combination]]
name = "half again"
cases = { cut = 1.5 }
"""


def project(tmp_path, text):
    for file in demo_folder().iterdir():
        if file.is_file() and file.name != "project.toml":
            (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "project.toml").write_text(DEMO + text, encoding="utf-8")
    return tmp_path


def test_a_case_is_read_in_si(tmp_path):
    found = read(project(tmp_path, GOOD))
    (case,) = found.extras["case"]
    assert [pull.name for pull in case.pulls] == ["sideways", "fore-aft"]
    assert case.gravity == pytest.approx((0.0, 0.0, -9.80665))
    (line,) = case.lines
    assert line.force == pytest.approx((0.0, 0.0, -120.0))
    assert (line.low, line.high) == (None, pytest.approx(0.1))
    assert line.offset == pytest.approx((1e-3, 2e-3))
    column, spindle = case.warmings
    assert (column.rise, column.across, column.expansion) == (5.0, (50.0, 0.0), None)
    assert spindle.expansion == pytest.approx(11.5e-6)
    assert case.settlements[0].displacement == pytest.approx((0.0, 0.0, -1e-4))
    assert case.settlements[0].rotation == pytest.approx((0.0, 2e-4, 0.0))
    assert case.tightenings[0].force == 2000.0
    assert found.extras["combination"][0].terms == (("cut", 1.5),)


def test_a_project_without_cases_has_none(tmp_path):
    found = read(project(tmp_path, ""))
    assert found.extras["case"] == found.extras["combination"] == ()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"fore-aft"]', '"fore-aff"]', "fore-aff"),
        ('part = "arm"\nforce = "120', 'part = "arn"\nforce = "120', "arn"),
        ('part = "spindle"', 'part = "spindel"', "spindel"),
        ('"rear foot"', '"rare foot"', "rare foot"),
        ('high = "100 mm"', 'high = "1000 mm"', "beyond the member"),
        ('high = "100 mm"', 'low = "50 mm"\nhigh = "20 mm"', "must be above low"),
        ('rise = "5 K"', 'rise = "5 degC"', "difference of temperatures"),
        ('rise = "5 K"', 'rise = "500 K"', "at most"),
        ('"120 N/m"', '"120 N"', "120 N"),
        ("{ cut = 1.5 }", "{ cot = 1.5 }", "cot"),
        ("{ cut = 1.5 }", "{}", "names no case"),
        ('force = "2 kN"', 'force = "-2 kN"', "above"),
    ],
)
def test_a_slip_is_named(tmp_path, old, new, words):
    assert old in GOOD
    with pytest.raises(ProjectError, match=words):
        read(project(tmp_path, GOOD.replace(old, new, 1)))


def test_a_case_in_which_nothing_acts_is_refused(tmp_path):
    with pytest.raises(ProjectError, match="nothing acts"):
        read(project(tmp_path, '\n[[case]]\nname = "empty"\n'))


def test_two_cases_of_one_name_are_refused(tmp_path):
    text = '\n[[case]]\nname = "a"\ngravity = "-z"\n' * 2
    with pytest.raises(ProjectError, match="another case"):
        read(project(tmp_path, text))
