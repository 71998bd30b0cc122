"""Slips of a log; all data invented."""

import shutil

import pytest

from strongback import project
from strongback.evidence.readings import Instrument, Reading
from strongback.evidence.reduce import reduce
from strongback.evidence.slips import log_slips, sign_slips
from strongback.project import demo_folder
from strongback.project.plausible import unlikely_of

UM = 1e-6


def rows(values, *, load=200.0, gauge="top", pull="side", step=1.0):
    return [
        Reading(pull=pull, gauge=gauge, load=load, loaded=v * UM * step, set_up=str(i // 2), repeat=i % 2)
        for i, v in enumerate(values)
    ]


GOOD = (41.0, 42.0, 40.0, 42.0)


def test_a_clean_log_is_left_alone():
    assert log_slips(rows(GOOD), {"side": 200.0}, Instrument()) == ()
    assert log_slips(rows(GOOD, load=120.0), {"side": 200.0}, Instrument()) == ()


@pytest.mark.parametrize(
    ("load", "words"),
    [
        (20.39, "kg noted as newton"),
        (44.96, "pounds-force noted"),
        (20.0, "a digit"),
        (15.0, "with 15, the machine with 200"),
    ],
)
def test_loads_in_other_units(load, words):
    (said,) = log_slips(rows(GOOD, load=load), {"side": 200.0}, Instrument())
    assert words in said


def test_units_against_sizes():
    assert "µm noted as mm" in log_slips(rows([42e3] * 4), {}, Instrument())[0]
    assert "mm noted as µm" in log_slips(rows([0.042] * 4), {}, Instrument(resolution=1e-9))[0]


def test_scatter_against_the_step():
    (said,) = log_slips(rows([10.0, 80.0, 15.0, 70.0]), {}, Instrument())
    assert "scatter by" in said
    (said,) = log_slips(rows([41.3, 41.6, 40.4, 42.7]), {}, Instrument())
    assert "is its step finer" in said


def test_signs_against_the_prediction():
    log = [
        *rows(GOOD),
        *rows([-v for v in GOOD], pull="front"),
        *rows([-20.0, -21.0, -20.0, -21.0], gauge="foot"),
        *rows([9.0, 10.0, 9.0, 10.0], gauge="idle"),
        *rows([0.0, 0.0, 1.0, 0.0], gauge="dead"),
    ]
    measured = reduce(log).measured
    predicted = {("side", "top"): 40.0, ("front", "top"): 40.0, ("side", "foot"): 18.0}
    said = sign_slips(measured, [UM * predicted.get((m.pull, m.gauge), 0.0) for m in measured])
    assert len(said) == 3
    assert said[0].startswith('"foot" moves against what is predicted under "side"')
    assert said[1].startswith('"idle" should not move')
    assert said[2].startswith('"dead" moves under none')


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(demo_folder(), tmp_path / "mill")
    return tmp_path / "mill"


def test_a_log_in_kg_is_seen_before_anything_is_solved(folder):
    log = folder / "readings-before.csv"
    log.write_text(log.read_text(encoding="utf-8").replace(";200 N;", ";20.4 N;"), encoding="utf-8")
    said = [u.text for u in unlikely_of(project.read(folder)) if u.of == "log of readings"]
    assert len(said) == 2
    assert 'the log pulls "sideways" with 20.4, the machine with 200: kg noted as newton' in said[0]


def test_the_demo_has_no_slips(folder):
    assert [u for u in unlikely_of(project.read(folder)) if u.of == "log of readings"] == []


@pytest.mark.parametrize(
    ("line", "u_load"),
    [
        ("", 0.005),
        ('load_by = "spring balance"', 0.02),
        ('load_by = "guessed"', 0.1),
        ('load_uncertainty = "1 %"', 0.01),
    ],
)
def test_the_load_is_as_good_as_it_was_made(folder, line, u_load):
    file = folder / "project.toml"
    text = file.read_text(encoding="utf-8")
    head = '[[readings]]\nname = "before"\n'
    assert head in text
    file.write_text(text.replace(head, f'{head}{line}\npoint_uncertainty = "3 mm"\n'), encoding="utf-8")
    instrument = project.read(folder).extras["readings"][0].instrument
    assert instrument.u_load == pytest.approx(u_load)
    assert instrument.u_point == pytest.approx(0.003)
