"""Tables of readings as people write them, and as they should not."""

import math

import pytest
from campaigns import mill

from strongback.evidence.reduce import reduce
from strongback.project.readings import read_table
from strongback.project.source import Source

UM = 1e-6
HEAD = "pull,gauge,load [N],set-up,repeat,zero before [um],loaded [um],zero after [um]"


def table(text):
    readings, faults, _ = read_table(Source(name="log.csv", text=text), mill())
    return readings, faults


def one_fault(text):
    readings, faults = table(text)
    assert len(faults) == 1, [str(f) for f in faults]
    return readings, faults[0]


def test_rows_that_wait_to_be_read_are_one_count_and_no_fault():
    text = f"{HEAD}\nsideways,tool x,300,1,1,0,41.5,0.5\nsideways,tool x,300,2,1,,,\nsideways,tool x,300,3,1,,,\n"
    readings, faults, unread = read_table(Source(name="log.csv", text=text), mill())
    assert (len(readings), len(faults), unread) == (1, 0, 2)


def test_a_row_with_a_zero_but_no_reading_is_a_fault():
    _, found = one_fault(f"{HEAD}\nsideways,tool x,300,1,1,0,,\n")
    assert "loaded is missing" in str(found)


def test_a_plain_table():
    readings, faults = table(f"{HEAD}\nsideways,tool x,300,1,1,0,41.5,0.5\n")
    assert not faults
    r = readings[0]
    assert (r.pull, r.gauge, r.load, r.set_up, r.repeat, r.row) == ("sideways", "tool x", 300.0, "1", 1, 2)
    assert r.value == pytest.approx(41.25 * UM)


@pytest.mark.parametrize(
    "text",
    [
        "\ufeffpull;gauge;load [kg];loaded [um];zero before [um]\nsideways;tool x;10,2;43,5;1,0\n",
        "pull\tgauge\tload [kg]\tloaded [um]\tzero before [um]\nsideways\ttool x\t10.2\t43.5\t1\n",
        "pull,gauge,load,loaded,zero before\nsideways,tool x,10.2 kg,43.5 um,0.001 mm\n",
        "Pull; Gauge ;LOAD (kg); Loaded (µm); Zero before (µm)\r\nsideways;tool x;10,2;43,5;1\r\n",
        'pull;gauge;load;loaded;zero_before\n"sideways";"tool x";"10,2 kg";"43,5 um";"1 um"\n# a comment\n\n',
        "zero before [um],loaded [um],load [kg],gauge,pull\n1,43.5,10.2,tool x,sideways\n",
    ],
)
def test_separators_commas_units_and_order(text):
    readings, faults = table(text.removeprefix("\ufeff"))
    assert not faults, [str(f) for f in faults]
    assert readings[0].load == pytest.approx(
        10.2 * 9.80665
    )  # weight by the standard acceleration of ISO 80000-3
    assert readings[0].value == pytest.approx(42.5 * UM)


def test_state_columns_and_optional_cells():
    text = (
        "pull;gauge;load [N];loaded [um];state gib;state: quill;state;reference;angle [deg];branch;date;zero after [um]\n"
        "sideways;tool x;-300;-41;locked;0 mm;;bed;10;Up;2024-05-01;\n"
    )
    readings, faults = table(text)
    assert not faults, [str(f) for f in faults]
    r = readings[0]
    assert r.state == (("gib", "locked"), ("quill", "0 mm"))
    assert r.reference == "bed"
    assert r.angle == pytest.approx(math.radians(10))
    assert r.branch == "up"
    assert r.zero_after is None
    assert r.value == pytest.approx(-41 * UM)


def test_no_unit_names_the_cell_and_keeps_rows_that_have_one():
    readings, fault = one_fault(
        "pull,gauge,load [N],loaded\nsideways,tool x,300,41\nsideways,tool x,300,42 um\n"
    )
    assert str(fault).startswith("log.csv:2:21 loaded = 41 has no unit")
    assert "write the head as loaded [um]" in fault.hint
    assert len(readings) == 1


def test_unknown_gauge_has_a_suggestion_and_the_rest_is_read():
    readings, fault = one_fault(f"{HEAD}\nsideways,tool q,300,1,1,0,41,0\nsideways,tool x,300,1,1,0,41,0\n")
    assert str(fault).startswith('log.csv:2:10 there is no gauge "tool q"')
    assert "did you mean" in fault.hint
    assert [r.row for r in readings] == [3]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("heave,tool x,300,1,1,0,41,0", 'there is no pull "heave"'),
        ("sideways,tool x,300,1,1,0,forty,0", 'loaded = "forty" is not a number'),
        ("sideways,tool x,300,1,one,0,41,0", 'repeat = "one" is not a whole number'),
        ("sideways,tool x,300,1,1,0,,0", "loaded is missing"),
        ("sideways,tool x,300,1,1,0", "loaded is missing"),
        ("sideways,,300,1,1,0,41,0", "gauge is missing"),
        ("sideways,tool x,300,1,1,0,41,0,9", "9 cells, 8 are due"),
        ("sideways,tool x,300 um,1,1,0,41,0", '"um" is a unit of length'),
        ("sideways,tool x,300 blah,1,1,0,41,0", 'unknown unit "blah"'),
        ("sideways,tool x,300,1,1,0,1e999,0", 'loaded = "1e999" is not a number'),
        ("sideways,tool x,300,1,1,0,nan,0", 'loaded = "nan" is not a number'),
        ("sideways,tool x,=1+1,1,1,0,41,0", 'load = "=1+1" is not a number'),
    ],
)
def test_a_bad_row_is_named_and_the_others_are_read(row, words):
    readings, fault = one_fault(
        f"{HEAD}\nsideways,tool x,300,1,1,0,41,0\n{row}\nsideways,tool x,300,2,1,0,43,0\n"
    )
    assert fault.line == 3
    assert fault.column >= 1
    assert words in fault.message
    assert [r.row for r in readings] == [2, 4]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("pull,gauge,load [N]", "column loaded is missing"),
        ("pull,gauge,load [N],loaded [um],colour", 'unknown column "colour"'),
        ("pull,gauge,load [N],loaded [um],load [kg]", 'column "load" is there twice'),
        ("pull,gauge,load [mm],loaded [um]", '"mm" is a unit of length, not of force'),
        ("pull,gauge,load [N],loaded [kg]", '"kg" is a unit of mass, not of length'),
        ("pull,gauge,load [N],loaded [furlong]", 'unknown unit "furlong"'),
    ],
)
def test_faults_of_the_head(head, words):
    _, faults = table(f"{head}\n")
    assert any(words in f.message for f in faults), [f.message for f in faults]
    assert faults[0].line in (0, 1)


def test_a_decimal_comma_between_commas_is_explained():
    _, fault = one_fault("pull,gauge,load [N],loaded [um]\nsideways,tool x,300,41,5\n")
    assert "a decimal comma needs semicolons or tabs" in fault.hint


def test_empty_tables():
    assert "holds no readings" in table("")[1][0].message
    assert "no reading" in table(f"{HEAD}\n")[1][0].message
    assert table(f"{HEAD}\n,,,,,,,\nsideways,tool x,300,1,1,0,41,0\n")[0][0].row == 3


def test_zero_load_and_signs_reach_the_reduction_with_their_rows():
    readings, faults = table(
        f"{HEAD}\nsideways,tool x,0,1,1,0,41,0\nfore-aft,tool y,300,1,1,0,41,0\nfore-aft,tool y,300,2,1,0,-40,0\n"
        "jack,tool z,300,1,1,0,55,0\n"
    )
    assert not faults
    campaign = reduce(readings)
    assert [m.gauge for m in campaign.measured] == ["tool z"]
    assert [a.rows for a in campaign.set_aside] == [(2,), (3, 4)]


def test_a_couple_has_a_unit_of_its_own():
    readings, faults = table("pull,gauge,load [N*m],loaded [um]\nsideways,tool x,60,41\n")
    # A pull that is a force cannot be logged as a couple.
    assert "couple" in str(faults[0])
    assert readings == ()
