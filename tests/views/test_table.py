"""One table for terminal, file, page and frame: the same numbers in all of them, whole where a machine reads them."""

from __future__ import annotations

import csv
import io
import sys
import xml.etree.ElementTree as ElementTree

import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strongback.errors import EnvironmentFault
from strongback.views.table import Head, Table
from strongback.views.tables import cells, number, signed

NAMES = 'a part, with "quotes" | and a pipe <b>'


@pytest.fixture
def mixed() -> Table:
    return Table(
        columns=(
            Head("part"),
            Head("gives", "µm", signed),
            Head("95 %", "µm", lambda v: number(v, 2), pair=True),
            Head("remark"),
        ),
        rows=(
            (NAMES, 1.23456789012345, (0.5, 2.25), "first"),
            ("base", -3.0, None, ""),
            ("lost", None, (1.0, 3.0), "last"),
        ),
        title="who < gives",
    )


def test_csv_gives_every_number_back_in_full(mixed):
    rows = list(csv.DictReader(io.StringIO(mixed.csv())))
    assert list(rows[0]) == ["part", "gives [µm]", "95 % low [µm]", "95 % high [µm]", "remark"]
    assert rows[0]["part"] == NAMES
    assert float(rows[0]["gives [µm]"]) == 1.23456789012345
    assert (float(rows[0]["95 % low [µm]"]), float(rows[0]["95 % high [µm]"])) == (0.5, 2.25)
    assert rows[1]["95 % low [µm]"] == rows[2]["gives [µm]"] == ""


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=5))
def test_any_number_survives_csv(values):
    made = Table(columns=(Head("x", "m", number),), rows=tuple((v,) for v in values))
    found = [float(row["x [m]"]) for row in csv.DictReader(io.StringIO(made.csv()))]
    assert found == values


def test_a_frame_has_numbers_in_columns_of_numbers(mixed):
    frame = mixed.frame()
    assert frame["gives [µm]"].dtype == float
    assert frame["95 % high [µm]"].sum() == pytest.approx(5.25)
    assert frame["gives [µm]"].isna().tolist() == [False, False, True]
    again = pandas.read_csv(io.StringIO(mixed.csv()), keep_default_na=True)
    assert again["gives [µm]"].tolist()[:2] == frame["gives [µm]"].tolist()[:2]


def test_a_frame_of_no_rows_has_its_heads():
    assert list(Table(columns=(Head("x", "m", number),), rows=()).frame().columns) == ["x [m]"]


def test_without_pandas_the_fault_says_what_to_do(mixed, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(EnvironmentFault, match="pandas"):
        mixed.frame()


def test_html_is_well_formed_escaped_and_takes_the_colours_of_the_page(mixed):
    root = ElementTree.fromstring(mixed.html().replace("<br>", "<br/>"))
    assert root.find("caption").text == "who < gives"
    shown = [[cell.text or "" for cell in row] for row in root.find("tbody")]
    assert shown == mixed.shown()
    assert len(root.find("thead")[0]) == 4
    assert "color:inherit" in mixed.html()
    assert "#" not in mixed.html()  # no colour of its own: light and dark alike
    assert mixed._repr_html_() == mixed.html()


def test_markdown_has_a_cell_for_each_cell(mixed):
    lines = mixed.markdown().splitlines()
    assert lines[1] == "| --- | ---: | ---: | --- |"
    plain = [line.replace("\\|", "") for line in lines]
    assert {line.count("|") for line in plain} == {5}
    assert "0.50..2.2" in lines[2]


def test_text_is_that_of_a_terminal_and_fits(mixed):
    for width in (60, 80):
        assert max(cells(line) for line in mixed.text(width).splitlines()) <= width
    assert str(mixed) == mixed.text(80)


@pytest.mark.parametrize("width", [40, 60, 80])
def test_many_columns_of_numbers_go_on_below(width):
    """Every number once, the names beside each block."""
    columns = (Head("part"), *(Head(f"pull {i}", "µm", signed) for i in range(14)))
    rows = tuple((f"part {k}", *(100.0 * k + i for i in range(14))) for k in range(3))
    text = Table(columns=columns, rows=rows).text(width)
    assert max(map(len, text.splitlines())) <= width
    words = text.split()
    for k in range(3):
        for i in range(14):
            assert words.count(signed(100.0 * k + i)) == 1
    assert text.count("part 1") == text.count("part\n") or text.count("part 1") > 1


def test_the_short_form_is_short(mixed):
    assert repr(mixed) == "Table(3 rows: part, gives [µm], 95 % [µm], remark)"


def test_cells_that_do_not_fit_their_column_are_refused():
    with pytest.raises(ValueError, match="2 cells"):
        Table(columns=(Head("x"),), rows=(("a", "b"),))
    with pytest.raises(ValueError, match="does not fit"):
        Table(columns=(Head("x", show=number),), rows=(((1.0, 2.0),),))
    with pytest.raises(ValueError, match="does not fit"):
        Table(columns=(Head("x", show=number, pair=True),), rows=((1.0,),))
