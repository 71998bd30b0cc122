"""Tables as spreadsheets write them."""

from __future__ import annotations

import pytest

from strongback.errors import ProjectError
from strongback.project.csvfile import cells, number, ring_rows, separator
from strongback.project.source import Faults, Source

POINTS = [("outer", 0.0, 0.0005, 0.0), ("outer", 0.06, 0.0, 0.0025)]


def rows(text, unit="mm"):
    faults = Faults()
    found = ring_rows(Source(name="a.csv", text=text), unit, faults)
    faults.raise_if_any()
    return [(row.ring, row.x, row.y, row.radius) for row in found]


@pytest.mark.parametrize(
    "text",
    [
        "ring,x,y,radius\nouter,0,0.5,\nouter,60,0,2.5\n",
        "ring;x;y;radius\nouter;0;0,5;\nouter;60;0;2,5\n",
        "ring\tx\ty\tradius\nouter\t0\t0,5\t\nouter\t60\t0\t2,5\n",
        "ring\tx\ty\tradius\r\nouter\t0\t0.5\r\nouter\t60\t0\t2.5\r\n",
        "outer,0,0.5\nouter,60,0,2.5\n",
        "# drawn by hand\n\nRing , X , Y , Radius\n outer , 0 , .5 ,0\n , 6e1 , 0 , 2.5\n",
        'ring,x,y,radius\n"outer","0","0.5",""\n"outer","60","0","2.5"',
        "radius;y;x;ring\n;0,5;0;outer\n2,5;0;60;outer\n",
    ],
)
def test_spellings_of_one_table(text):
    assert rows(text) == [(ring, *(pytest.approx(v, abs=1e-15) for v in rest)) for ring, *rest in POINTS]


@pytest.mark.parametrize("head", ["ring,x [mm],y [mm]", "ring,x_mm,y_mm", "ring,x (mm),y(mm)"])
def test_the_head_gives_the_unit(head):
    assert rows(f"{head}\na,1,2\n", unit=None) == [("a", 0.001, 0.002, 0.0)]


def test_columns_may_differ_in_unit():
    assert rows("ring,x [in],y [mm]\na,1,2\n", unit=None) == [("a", 0.0254, 0.002, 0.0)]


@pytest.mark.parametrize(
    ("text", "unit", "place", "words"),
    [
        ("ring,x,y\na,1,2\n", None, "1:1", "the coordinates have no unit"),
        ("", "mm", "", "holds no points"),
        ("# nothing\n", "mm", "", "holds no points"),
        ("ring,x,z\na,1,2\n", "mm", "1:1", 'unknown column "z"'),
        ("ring,x\na,1\n", "mm", "1:1", "column y is missing"),
        ("ring,x [kg],y\na,1,2\n", "mm", "1:6", "is not a unit of length"),
        ("ring,x [mn],y\na,1,2\n", "mm", "1:6", 'unknown unit "mn"'),
        ("ring,x,y\na,1,2\na,one,2\n", "mm", "3:3", 'x = "one" is not a number'),
        ("ring,x,y\na,1,nan\n", "mm", "2:5", 'y = "nan" is not a number'),
        ("ring,x,y\na,1\n", "mm", "2:3", "y is missing"),
        ("ring,x,y\na,1,2,3\n", "mm", "2:7", "4 columns, 3 are due"),
        ("ring,x,y,radius\na,1,2,-3\n", "mm", "2:7", "must not be below 0"),
        ("ring,x,y\na,1,1e999\n", "mm", "2:5", "is not a number"),
        ("ring,x,y\na,1," + "1" * 50 + "\n", "mm", "2:5", "is not a number"),
    ],
)
def test_faults_of_tables(text, unit, place, words):
    with pytest.raises(ProjectError) as caught:
        rows(text, unit)
    assert words in str(caught.value)
    assert str(caught.value).startswith(f"a.csv:{place}")


def test_quotes_and_separators_inside():
    source = Source(name="a", text='"left; low";"say ""so"""\n')
    assert [[cell.text for cell in row] for row in cells(source)] == [["left; low", 'say "so"']]
    assert separator(Source(name="a", text="")) == ","


def test_a_cell_knows_where_it_stands():
    source = Source(name="a", text="ring , x\n a ,  12 \n")
    row = list(cells(source))[1]
    assert [source.text[c.offset : c.offset + c.width] for c in row] == ["a", "12"]


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [("1,5", ";", 1.5), ("1,5", ",", None), ("1e3", ",", 1e3), ("", ",", None), ("0x1", ",", None)],
)
def test_numbers(text, mark, value):
    assert number(text, mark) == value
