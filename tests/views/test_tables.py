"""Text tables: numbers to the right, units in the head, never wider than asked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strongback.views.tables import Column, cells, number, percent, signed, table

HEADS = [Column("part"), Column("share of the whole deflection", "%", "right"), Column("remark")]


def test_numbers_stand_to_the_right_and_units_in_the_head():
    text = table([Column("gauge"), Column("reading", "µm", "right")], [("top", "+1.5"), ("foot", "+12.0")])
    assert text.splitlines() == [
        "gauge  reading",
        "            µm",
        "-----  -------",
        "top       +1.5",
        "foot     +12.0",
    ]


@pytest.mark.parametrize("width", [40, 60, 80])
def test_words_are_wrapped_to_the_width(width):
    rows = [
        ("a part with a rather long name", "12.3", "a remark of many words that has to go on the next line")
    ]
    text = table(HEADS, rows, width=width)
    assert max(cells(line) for line in text.splitlines()) <= width
    assert " ".join(text.split()).count("12.3") == 1
    for word in rows[0][2].split():
        assert word in text


@given(
    st.lists(
        st.tuples(
            st.text(st.characters(categories=("L", "N")), max_size=12),
            st.integers(-999, 999).map(str),
            st.text(st.sampled_from("abc d"), max_size=40),
        ),
        min_size=1,
        max_size=5,
    )
)
def test_every_row_is_there_and_fits(rows):
    text = table(HEADS, rows, width=80)
    assert max(cells(line) for line in text.splitlines()) <= 80
    for row in rows:
        assert row[1] in text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 4, "0"),
        (123456.0, 4, "123456"),
        (1.0, 3, "1.00"),
        (-0.05, 2, "-0.050"),
        (1e-9, 3, "1.00e-09"),
        (float("inf"), 3, "-"),
        (None, 3, "-"),
    ],
)
def test_number(value, digits, text):
    assert number(value, digits) == text


def test_what_rounds_to_nothing_has_no_sign():
    assert signed(-0.01) == "0.0"
    assert percent(-0.0001) == "0.0"
    assert signed(-0.06) == "-0.1"
