"""Units against their definitions: the international yard and pound agreement of 1959 and ISO 80000 / NIST SP 811."""

from __future__ import annotations

import math

import pytest

from strongback.errors import UnitError
from strongback.units import UNITS, dimension_of, examples, format_si, parse, to_si

# Exact by definition: NIST SP 811 (2008), appendix B.
INCH = 0.0254  # m
POUND = 0.45359237  # kg
GRAVITY = 9.80665  # m/s²
POUND_FORCE = 4.4482216152605  # N, exact

DEFINED = [
    ("1 in", "length", INCH),
    ("1 ft", "length", 0.3048),
    ("1 thou", "length", 25.4e-6),
    ("1 um", "length", 1e-6),
    ("1 lb", "mass", POUND),
    ("1 oz", "mass", 0.028349523125),
    ("1 lbf", "force", POUND_FORCE),
    ("1 kgf", "force", GRAVITY),
    ("1 lbf*in", "couple", POUND_FORCE * INCH),
    ("1 lbf*ft", "couple", 1.3558179483314004),
    ("1 psi", "pressure", 6894.757293168361),
    ("1 ksi", "pressure", 6894757.293168361),
    ("1 bar", "pressure", 1e5),
    ("1 N/mm^2", "pressure", 1e6),
    ("1 lbf/in", "stiffness", 175.12683524647636),
    ("1 N/um", "stiffness", 1e6),
    ("1 N/mm^3", "stiffness per area", 1e9),
    ("1 lb/in^3", "density", 27679.904710203125),
    ("1 g/cm^3", "density", 1000.0),
    ("1 L", "volume", 1e-3),
    ("180 deg", "angle", math.pi),
    ("1 d", "time", 86400.0),
    ("0 degC", "temperature", 273.15),
    ("20 degC", "temperature", 293.15),
    ("1 um/m/K", "expansion", 1e-6),
    ("50 %", "number", 0.5),
    ("0.25", "number", 0.25),
]


@pytest.mark.parametrize(("text", "dimension", "value"), DEFINED)
def test_units_have_their_defined_size(text, dimension, value):
    assert parse(text, dimension) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("written", "plain"), [("µm", "um"), ("μm", "um"), ("Nm", "N*m"), ("N·m", "N*m"), ("mm²", "mm^2")]
)
@pytest.mark.parametrize("space", ["", " ", "  "])
def test_spellings(written, plain, space):
    dimension = dimension_of(plain)
    assert parse(f"3{space}{written}", dimension) == parse(f"3 {plain}", dimension)


@pytest.mark.parametrize("text", ["120 mm", "0.1 mm", "33 mm", "7 um", "5 thou"])
def test_decimals_stay_exact(text):
    number, unit = text.split()
    assert parse(text, "length") == pytest.approx(float(number) * UNITS[unit].factor, rel=1e-15)
    assert parse("120 mm", "length") == 0.12


@pytest.mark.parametrize(
    ("text", "value"), [("1e3 mm", 1.0), ("+.5 m", 0.5), ("-2. m", -2.0), ("1E-3 m", 1e-3), (" 7 mm ", 7e-3)]
)
def test_numbers(text, value):
    assert parse(text, "length") == value


@pytest.mark.parametrize("name", [name for name in UNITS if name])
def test_what_is_written_reads_back(name):
    unit = UNITS[name]
    assert parse(format_si(3.25 * unit.factor + unit.offset, name, 12), unit.dimension) == pytest.approx(
        3.25 * unit.factor + unit.offset, rel=1e-11
    )


@pytest.mark.parametrize(
    ("text", "dimension", "message", "hint"),
    [
        ("mm", "length", "does not start with a number", "such as"),
        ("", "length", "does not start with a number", ""),
        ("12", "length", "has no unit", "give a length"),
        ("12 kg", "length", "is a unit of mass, not of length", "give a length"),
        ("12 furlong", "length", 'unknown unit "furlong"', ""),
        ("12 mn", "length", 'unknown unit "mn"', 'did you mean "mm"?'),
        ("12 MM", "length", 'unknown unit "MM"', 'did you mean "mm"?'),
        ("12 gpa", "pressure", 'unknown unit "gpa"', 'did you mean "GPa"?'),
        ("12 N/uM", "stiffness", 'unknown unit "N/uM"', 'did you mean "N/um"?'),
        ("1,5 mm", "length", "is not one number", "decimal point"),
        ("1e999 mm", "length", "is not a finite number", ""),
        ("nan mm", "length", "does not start with a number", ""),
        ("inf mm", "length", "does not start with a number", ""),
        ("9" * 41 + " mm", "length", "a number of 41 characters", "use at most 40"),
        ("10**10**10 mm", "length", "unknown unit", ""),
        ("2*3 mm", "length", "unknown unit", ""),
        ("__import__('os') mm", "length", "does not start with a number", ""),
        ("1 mm mm", "length", "unknown unit", ""),
    ],
)
def test_what_is_no_quantity(text, dimension, message, hint):
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert message in caught.value.message
    assert hint in caught.value.hint
    assert caught.value.exit_code == 3


def test_nothing_in_a_message_is_longer_than_it_need_be():
    with pytest.raises(UnitError) as caught:
        parse("x" * 10_000, "length")
    assert len(str(caught.value)) < 200


def test_dimensions_are_not_mixed_up():
    assert dimension_of("N*m") == "couple"
    with pytest.raises(UnitError, match="not of force"):
        to_si(1.0, "N*m", "force")
    with pytest.raises(UnitError, match="unknown unit"):
        dimension_of("stone")
    assert all(examples(unit.dimension) for unit in UNITS.values() if unit.dimension != "number")


def test_every_factor_is_positive_and_every_dimension_has_its_si_unit():
    by_dimension = {}
    for unit in UNITS.values():
        assert unit.factor > 0.0
        by_dimension.setdefault(unit.dimension, []).append(unit.factor)
    assert all(1.0 in factors for factors in by_dimension.values())
