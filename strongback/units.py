"""Trade units in, SI out: a small table with exact factors, checked by dimension, never evaluated.

Inside the package every number is in SI. A quantity in a file is written ``"120 mm"``: a number, a space, a unit.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass

from strongback.errors import UnitError

__all__ = ["UNITS", "Dimension", "dimension_of", "examples", "format_si", "parse", "to_si"]

Dimension = str

_INCH = 0.0254
_LB = 0.45359237
_G = 9.80665  # standard acceleration of free fall [m/s²], ISO 80000-3
_LBF = _LB * _G
_KGF = _G
_PSI = _LBF / _INCH**2
_DEG = math.pi / 180.0


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its dimension in words and its factor to SI."""

    dimension: Dimension
    factor: float
    offset: float = 0.0


def _table() -> dict[str, Unit]:
    rows: dict[str, dict[str, float]] = {
        "length": {
            "m": 1.0,
            "cm": 1e-2,
            "mm": 1e-3,
            "um": 1e-6,
            "nm": 1e-9,
            "in": _INCH,
            "thou": _INCH * 1e-3,
            "ft": 12 * _INCH,
        },
        "area": {"m^2": 1.0, "cm^2": 1e-4, "mm^2": 1e-6, "in^2": _INCH**2},
        "volume": {"m^3": 1.0, "cm^3": 1e-6, "mm^3": 1e-9, "L": 1e-3, "mL": 1e-6},
        "force": {"N": 1.0, "kN": 1e3, "mN": 1e-3, "lbf": _LBF, "kgf": _KGF},
        "couple": {
            "N*m": 1.0,
            "N*mm": 1e-3,
            "kN*m": 1e3,
            "lbf*in": _LBF * _INCH,
            "lbf*ft": _LBF * 12 * _INCH,
        },
        "pressure": {
            "Pa": 1.0,
            "kPa": 1e3,
            "MPa": 1e6,
            "GPa": 1e9,
            "N/mm^2": 1e6,
            "psi": _PSI,
            "ksi": 1e3 * _PSI,
            "bar": 1e5,
        },
        "mass": {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "t": 1e3, "lb": _LB, "oz": _LB / 16},
        "inertia": {"kg*m^2": 1.0, "kg*mm^2": 1e-6, "kg*cm^2": 1e-4, "g*cm^2": 1e-7},
        "density": {"kg/m^3": 1.0, "g/cm^3": 1e3, "kg/L": 1e3, "lb/in^3": _LB / _INCH**3},
        "mass per length": {"kg/m": 1.0, "g/mm": 1.0, "g/m": 1e-3, "lb/ft": _LB / (12 * _INCH)},
        "stiffness": {
            "N/m": 1.0,
            "N/mm": 1e3,
            "N/um": 1e6,
            "kN/mm": 1e6,
            "lbf/in": _LBF / _INCH,
            "lbf/thou": 1e3 * _LBF / _INCH,
        },
        "rotational stiffness": {
            "N*m/rad": 1.0,
            "N*mm/rad": 1e-3,
            "kN*m/rad": 1e3,
            "lbf*in/rad": _LBF * _INCH,
        },
        "stiffness per area": {"N/m^3": 1.0, "N/mm^3": 1e9},
        "angle": {"rad": 1.0, "mrad": 1e-3, "urad": 1e-6, "deg": _DEG},
        "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "d": 86400.0},
        "frequency": {"Hz": 1.0, "kHz": 1e3},
        "temperature per length": {"K/m": 1.0, "K/mm": 1e3},
        "expansion": {"1/K": 1.0, "um/m/K": 1e-6},
        "number": {"%": 1e-2, "": 1.0},
        "axial stiffness": {"kN": 1e3, "MN": 1e6},
        "bending stiffness": {"N*m^2": 1.0, "N*mm^2": 1e-6, "kN*m^2": 1e3},
        "warping stiffness": {"N*m^4": 1.0, "N*mm^4": 1e-12},
        "thermal conductivity": {"W/m/K": 1.0},
        "specific heat": {"J/kg/K": 1.0, "kJ/kg/K": 1e3},
        "specific energy": {"J/kg": 1.0, "kJ/kg": 1e3},
        "energy per mole": {"J/mol": 1.0, "kJ/mol": 1e3},
    }
    table = {
        name: Unit(dimension, factor)
        for dimension, row in rows.items()
        for name, factor in row.items()
        if dimension != "axial stiffness"
    }
    table["degC"] = Unit("temperature", 1.0, 273.15)
    table["K"] = Unit("temperature", 1.0)
    return table


UNITS: dict[str, Unit] = _table()
_SPELLINGS = {
    "µm": "um",
    "μm": "um",
    "micron": "um",
    "°C": "degC",
    "°": "deg",
    '"': "in",
    "inch": "in",
    "Nm": "N*m",
    "Nmm": "N*mm",
    "l": "L",
    "ml": "mL",
    "litre": "L",
    "h": "h",
    "hours": "h",
    "days": "d",
}
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.]\d*)?|[.]\d+)(?:[eE][+-]?\d+)?")
_MAX_DIGITS = 40


def _spelling(unit: str) -> str:
    """Bring common spellings of a unit to the one in the table."""
    unit = unit.strip().replace("·", "*").replace("²", "^2").replace("³", "^3").replace("⁴", "^4")
    unit = unit.replace("µ", "u").replace("μ", "u").replace("**", "^")
    return _SPELLINGS.get(unit, unit)


def dimension_of(unit: str) -> Dimension:
    """Dimension of a unit in words.

    Parameters
    ----------
    unit : str
        Unit as written in a file.

    Returns
    -------
    str

    Raises
    ------
    UnitError
        If the unit is not in the table.

    Examples
    --------
    >>> dimension_of("N/mm^3")
    'stiffness per area'
    """
    return _lookup(unit, "").dimension


def _lookup(unit: str, dimension: Dimension) -> Unit:
    try:
        return UNITS[_spelling(unit)]
    except KeyError:
        from_table = _nearest(unit, dimension)
        raise UnitError(
            f'unknown unit "{unit[:20]}"',
            hint=f'did you mean "{from_table}"?' if from_table else "units are listed in the README",
        ) from None


def _nearest(unit: str, dimension: Dimension) -> str:
    """The unit that was probably meant, first among those of the dimension that is due."""
    unit = unit[:20].replace("mum", "um").replace("micron", "um")
    due = [name for name, row in UNITS.items() if name and row.dimension == dimension]
    for names in (due, [name for name in UNITS if name]):
        best = max(names, key=lambda name: _likeness(unit, name), default="")
        if best and _likeness(unit, best) >= 0.6:
            return best
    return ""


def _likeness(a: str, b: str) -> float:
    """Between 0 and 1: letters in place and in order, case counting little."""
    if a.lower() == b.lower():
        return 1.0
    in_place = 2.0 * sum(x == y for x, y in zip(a, b, strict=False)) / (len(a) + len(b))
    in_order = difflib.SequenceMatcher(None, a.lower(), b.lower()).ratio()
    return 0.5 * (in_place + in_order) + 0.2 * (len(a) == len(b))


def to_si(value: float, unit: str, dimension: Dimension) -> float:
    """Convert a number in a trade unit to SI.

    Parameters
    ----------
    value : float
        Number in `unit`.
    unit : str
        A unit of the table.
    dimension : str
        The dimension that is due, such as ``"length"``.

    Returns
    -------
    float
        Value in SI.

    Raises
    ------
    UnitError
        If the unit is unknown or belongs to another dimension.

    Examples
    --------
    >>> to_si(120.0, "mm", "length")
    0.12
    """
    found = _lookup(unit, dimension)
    if found.dimension != dimension:
        raise UnitError(
            f'"{unit}" is a unit of {found.dimension}, not of {dimension}',
            hint=f"give a {dimension} in {examples(dimension)}",
        )
    if found.offset == 0.0 and found.factor != 1.0 and found.factor < 1.0:
        inverse = 1.0 / found.factor
        rounded = round(inverse)
        # Dividing by the exact integer keeps 120 mm equal to 0.12 to the last bit.
        if abs(inverse - rounded) < 1e-9 * inverse:
            return value / rounded
    return value * found.factor + found.offset


def examples(dimension: Dimension) -> str:
    """Some units of a dimension, for hints.

    Parameters
    ----------
    dimension : str

    Returns
    -------
    str

    Examples
    --------
    >>> examples("density")
    'kg/m^3, g/cm^3, kg/L, lb/in^3'
    """
    names = [name for name, unit in UNITS.items() if unit.dimension == dimension and name]
    return ", ".join(names[:6])


def parse(text: str, dimension: Dimension) -> float:
    """Read a quantity such as ``"120 mm"`` and convert it to SI.

    Parameters
    ----------
    text : str
        Number and unit.
    dimension : str
        The dimension that is due.

    Returns
    -------
    float
        Value in SI, finite.

    Raises
    ------
    UnitError
        If there is no number, no unit, or one of another dimension.

    Examples
    --------
    >>> parse("70 GPa", "pressure")
    70000000000.0
    """
    stripped = text.strip()
    match = _NUMBER.match(stripped)
    if match is None:
        raise UnitError(
            f'"{text[:40]}" does not start with a number',
            hint=f'write a number and a unit, such as "12 {examples(dimension).split(",")[0]}"',
        )
    if len(match.group()) > _MAX_DIGITS:
        raise UnitError(f"a number of {len(match.group())} characters", hint=f"use at most {_MAX_DIGITS}")
    unit = stripped[match.end() :].strip()
    if re.match(r",\s*\d", unit):
        raise UnitError(f'"{text[:40]}" is not one number', hint="write a decimal point, not a decimal comma")
    if not unit and dimension != "number":
        raise UnitError(f'"{text[:40]}" has no unit', hint=f"give a {dimension} in {examples(dimension)}")
    value = to_si(float(match.group()), unit, dimension)
    if not math.isfinite(value):
        raise UnitError(f'"{text[:40]}" is not a finite number')
    return value


def format_si(value: float, unit: str, digits: int = 4) -> str:
    """Write an SI value in a trade unit.

    Parameters
    ----------
    value : float
        Value in SI.
    unit : str
        Unit to show it in.
    digits : int
        Significant digits.

    Returns
    -------
    str

    Examples
    --------
    >>> format_si(12.345e-6, "um", 3)
    '12.3 um'
    """
    found = _lookup(unit, "")
    return f"{(value - found.offset) / found.factor:.{digits}g} {unit}"
