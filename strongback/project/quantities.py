"""Numbers with units, points, directions and names as types of the tables of a project file.

Each is an annotated type: pydantic calls the converter that hangs on it and gathers what is wrong. A bare number is
taken where the table that holds it says ``unit = "mm"``; otherwise it is a fault.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable
from typing import Annotated, Any, NoReturn

from pydantic import AfterValidator, BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from strongback import units
from strongback.errors import UnitError
from strongback.machine.directions import WORDS

__all__ = [
    "Direction",
    "FilePath",
    "Length",
    "Name",
    "Plain",
    "Point2",
    "Point3",
    "RadiusPoint",
    "Words",
    "fail",
    "quantity",
    "vector",
]

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_BY = re.compile(r"\d\s*(?:[a-z]+\s*)?(?:\sx\s|×)", re.IGNORECASE)  # 120 x 100 mm
_COMMA = re.compile(r"\d+,\d+")  # no space behind the comma: probably a decimal one
_SAMPLES = {
    "length": "mm",
    "pressure": "GPa",
    "stiffness": "N/um",
    "expansion": "um/m/K",
    "stiffness per area": "N/mm^3",
}


def fail(message: str, hint: str = "", item: int | None = None) -> NoReturn:
    """Report a fault of the value in hand from within a converter.

    Parameters
    ----------
    message : str
        A message that starts with "must" is printed after the value as it is written.
    hint : str
    item : int, optional
        Which item of a list it is.

    Raises
    ------
    PydanticCustomError
    """
    raise PydanticCustomError("fault", "{text}", {"text": message, "hint": hint, "item": item})


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _scalar(value: Any, dimension: str, unit: str | None, item: int | None = None) -> float:
    """One quantity in SI from text with a unit, or from a number and the unit of its table."""
    try:
        if isinstance(value, str):
            return units.parse(value, dimension)
        if _is_number(value):
            if not math.isfinite(value):
                fail("must be a finite number", item=item)
            if dimension == "number":
                return float(value)
            if unit is None:
                sample = _SAMPLES.get(dimension, units.examples(dimension).split(",")[0])
                once = ', or unit = "mm" once in this table' if dimension == "length" else ""
                fail("has no unit", f'write "{value:g} {sample}"{once}', item)
            return units.to_si(float(value), unit, dimension)
    except UnitError as error:
        fail(error.message, error.hint, item)
    fail(f"must be a {dimension}", f"give a number with a unit: {units.examples(dimension)}", item)


def _table_unit(info: ValidationInfo, dimension: str) -> str | None:
    """The unit that the table gives for its bare numbers, which are lengths."""
    found = info.data.get("unit") if dimension == "length" and info.data else None
    return found if isinstance(found, str) else None


def quantity(
    dimension: str,
    *,
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
) -> Any:
    """Converter of a number with a unit.

    Parameters
    ----------
    dimension : str
        As `strongback.units` names it.
    above, least, below, most : float, optional
        Limits in SI: strictly above, at least, strictly below, at most.

    Returns
    -------
    BeforeValidator
    """

    def convert(value: Any, info: ValidationInfo) -> float:
        number = _scalar(value, dimension, _table_unit(info, dimension))
        if above is not None and not number > above:
            fail(f"must be above {_limit(above, dimension)}")
        if least is not None and not number >= least:
            fail(f"must be at least {_limit(least, dimension)}")
        if below is not None and not number < below:
            fail(f"must be below {_limit(below, dimension)}", "check the unit" if below > 1.0 else "")
        if most is not None and not number <= most:
            fail(f"must be at most {_limit(most, dimension)}", "check the unit")
        return number

    return BeforeValidator(convert)


def _limit(value: float, dimension: str) -> str:
    """A limit with the SI unit of its dimension; zero needs none."""
    si = next(
        (name for name, unit in units.UNITS.items() if unit.dimension == dimension and unit.factor == 1.0), ""
    )
    return f"{value:g} {si}".strip() if value else "0"


def _pieces(text: str, count: int) -> list[str]:
    """Split "0, 250, 300 mm" or "120 x 100 mm" into quantities; a unit behind the last number holds for all."""
    parts = [part.strip() for part in re.split(r"\s+x\s+|\s*×\s*" if _BY.search(text) else ",", text)]
    if len(parts) != count:
        if len(parts) > count and _COMMA.search(text):
            written = _COMMA.search(text)
            assert written is not None
            point = written.group().replace(",", ".")
            fail(
                f"must be {count} numbers with a unit", f"write a decimal point, {point}, not a decimal comma"
            )
        fail(f"must be {count} numbers with a unit", f'write "{", ".join("0" * (count - 1))}, 250 mm"')
    last = re.fullmatch(rf"({_NUMBER})\s*(\S.*)?", parts[-1])
    unit = (last.group(2) or "") if last else ""
    return [f"{part} {unit}".strip() if re.fullmatch(_NUMBER, part) else part for part in parts]


def vector(dimension: str, count: int = 3, *, above: float | None = None) -> Any:
    """Converter of a list of numbers with units, or of text such as ``"0, 250, 300 mm"``.

    Parameters
    ----------
    dimension : str
    count : int
    above : float, optional
        Each number must be above it.

    Returns
    -------
    BeforeValidator
    """

    def convert(value: Any, info: ValidationInfo) -> tuple[float, ...]:
        items = _pieces(value, count) if isinstance(value, str) else value
        if not isinstance(items, list) or len(items) != count:
            fail(f"must be {count} numbers", f'write [..., ...] with {count} items, or "0, ..., 250 mm"')
        unit = _table_unit(info, dimension)
        split = isinstance(value, str)
        numbers = tuple(_scalar(x, dimension, unit, None if split else i) for i, x in enumerate(items))
        if above is not None and not min(numbers) > above:
            fail(f"must be above {above:g}")
        return numbers

    return BeforeValidator(convert)


def _radius_point(value: Any, info: ValidationInfo) -> tuple[float, float, float]:
    """A point with an optional corner radius behind it."""
    if isinstance(value, str):
        value = _pieces(value, 3 if value.count(",") == 2 else 2)
    if not isinstance(value, list) or len(value) not in (2, 3):
        fail("must be a point", "write [x, y], or [x, y, radius] for a rounded corner")
    unit = _table_unit(info, "length")
    numbers = [_scalar(x, "length", unit, i) for i, x in enumerate(value)]
    if len(numbers) == 3 and numbers[2] < 0.0:
        fail("must not have a negative radius", item=2)
    return numbers[0], numbers[1], numbers[2] if len(numbers) == 3 else 0.0


def _direction(value: Any) -> tuple[float, float, float]:
    hint = 'write "+x", "-y" or a list of three numbers'
    if isinstance(value, str):
        found = WORDS.get(value.strip().lower())
        if found is None:
            fail("must be a direction", hint)
        return found[0], found[1], found[2]
    if not isinstance(value, list) or len(value) != 3 or not all(_is_number(v) for v in value):
        fail("must be a direction", hint)
    size = math.hypot(*value) if all(math.isfinite(v) for v in value) else math.nan
    if not 0.0 < size < math.inf:
        fail("must be a direction of some length", hint)
    if abs(size - 1.0) <= 4.0 * sys.float_info.epsilon:
        size = 1.0  # as a program writes it: reads back as the same numbers
    return value[0] / size, value[1] / size, value[2] / size


def _text(most: int, what: str) -> Callable[[Any], str]:
    def convert(value: Any) -> str:
        if not isinstance(value, str):
            fail(f"must be {what}", "put it in quotes")
        if not value.strip():
            fail("must not be empty")
        if len(value) > most:
            fail(f"must have at most {most} characters")
        if any(not c.isprintable() for c in value.replace("\n", " ").replace("\t", " ")):
            fail("must not hold control characters")
        return value.strip()

    return convert


FURTHEST = 100.0  # a point of a machine further out is a slip of the unit [m]


def _near(value: tuple[float, float, float]) -> tuple[float, float, float]:
    if max(map(abs, value)) > FURTHEST:
        fail(f"must lie within {FURTHEST:g} m", "check the unit")
    return value


Length = Annotated[float, quantity("length")]
Point2 = Annotated[tuple[float, float], vector("length", 2)]
Point3 = Annotated[tuple[float, float, float], vector("length", 3), AfterValidator(_near)]
RadiusPoint = Annotated[tuple[float, float, float], BeforeValidator(_radius_point)]
Direction = Annotated[tuple[float, float, float], BeforeValidator(_direction)]
Name = Annotated[str, BeforeValidator(_text(80, "a name"))]
FilePath = Annotated[str, BeforeValidator(_text(400, "a file name"))]
Words = Annotated[str, BeforeValidator(_text(4000, "text"))]
Plain = Annotated[float, quantity("number")]
