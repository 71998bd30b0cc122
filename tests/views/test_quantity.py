"""Inches on the way out: factors against published tables, tables and sentences alike, digits that mean the same."""

import pytest

from strongback.errors import InputError
from strongback.views.quantity import factor_of, retold, said, scale, shown_in, system, unit_of
from strongback.views.table import Head, Table
from strongback.views.tables import number, signed

# NIST Special Publication 811 (2008), Appendix B.8, factors as printed there (from memory).
PUBLISHED = {
    "mm": 25.4e-3,
    "N": 4.448222,
    "N m": 1.355818,
    "kg": 0.4535924,
    "kg/m": 1.488164,
    "kg/m³": 16.01846,
    "MPa": 6.894757e6,
    "mm²": 6.4516e-4,
    "mm³": 1.638706e-5,
    "mm⁴": 4.162314e-7,
    "l": 3.785412e-3,
    "N/µm": 4.448222 / 25.4e-6,
}


@pytest.mark.parametrize("unit", PUBLISHED)
def test_what_stands_for_a_unit_is_as_published(unit):
    with shown_in("inch"):
        assert scale(unit) == pytest.approx(PUBLISHED[unit], rel=5e-7)
    assert scale(unit) != pytest.approx(PUBLISHED[unit], rel=1e-3)


def test_a_number_keeps_about_the_digits_it_has():
    with shown_in("inch"):
        assert said(115e-6, "µm") == "4.53 thou"
        assert said(200.0, "N") == "45.0 lbf"
        assert said(0.573e-6, "µm/N") == "0.1003 thou/lbf"
        assert retold(0.04, "µm", signed) == "0.0"
        assert retold(-0.04, "mm", lambda v: f"{v:.2f}") == "-0.002"
        assert retold(float("inf"), "µm", number) == "-"
        assert retold(1.5e9, "N", number) == "3.372e+08"
        assert retold(3.0, "%", number) == "3.000"
    assert said(115e-6, "µm") == "115 µm"


def test_a_table_is_converted_as_it_is_shown():
    table = Table(
        columns=(Head("gauge"), Head("reads", "µm", signed), Head("95 %", "µm", number, pair=True)),
        rows=(("top", 25.4, (0.0, 50.8)), ("foot", None, None)),
    )
    plain = table.csv()
    with shown_in("inch"):
        assert "thou" in table.text()
        assert "+1.00" in table.text()
        head, first = table.csv().splitlines()[:2]
        assert head == "gauge,reads [thou],95 % low [thou],95 % high [thou]"
        assert [float(v) for v in first.split(",")[1:]] == pytest.approx([1.0, 0.0, 2.0])
        assert "[thou]" in table.markdown()
        assert "thou" in table.html()
        assert table.frame()["reads [thou]"].iloc[0] == pytest.approx(1.0)
    assert table.csv() == plain
    assert "µm" in table.text()


def test_the_setting_ends_with_its_block():
    def shown() -> None:
        with shown_in("inch"):
            assert system() == "inch"
            assert unit_of("N/µm") == "lbf/thou"
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        shown()
    assert system() == "mm"
    assert factor_of("µm") == 1.0
    with pytest.raises(InputError, match="no units to show"), shown_in("furlong"):
        pass
