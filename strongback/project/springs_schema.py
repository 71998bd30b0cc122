"""A stiffness of a joint with its range, as the tables of joints and of bearings share it."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from strongback.errors import UnitError
from strongback.project.quantities import fail, quantity
from strongback.project.source import nearest
from strongback.project.tables import Table
from strongback.units import parse

__all__ = ["AboutTable", "AlongTable", "SpringTable", "as_spring"]

STIFFEST = 1e15  # [N/m] or [N m/rad]
SOFTEST = 1e-3  # the same: a spring that a breath moves by metres holds no machine, it is a slip of the pen


def _spring(dimension: str) -> Any:
    def convert(value: Any) -> float | None:
        if value in ("rigid", "free"):
            return math.inf if value == "rigid" else 0.0
        if not isinstance(value, str) or not any(c.isdigit() for c in value):
            near = nearest(value, ("rigid", "free")) if isinstance(value, str) else ""
            hint = near if near.startswith("did") else f"write a {dimension} in quotes with its unit"
            fail('must be a stiffness, "rigid" or "free"', hint)
        try:
            found = parse(value, dimension)
        except UnitError as error:
            fail(error.message, error.hint)
        if not found > 0.0:
            fail("must be above 0", 'write "free" for a component that holds nothing')
        if found < SOFTEST:
            fail("is too soft to hold anything", 'write "free" for a component that holds nothing')
        if found > STIFFEST:
            fail("must be a stiffness that a joint can have", 'write "rigid" for one that does not give')
        return found

    return BeforeValidator(convert)


def _bound(dimension: str) -> Any:
    """One end of a range: a stiffness that a joint can have."""
    return quantity(dimension, least=SOFTEST, most=STIFFEST)


class SpringTable(Table):
    """A stiffness with its range: ``{ value = "200 N/um", low = "80 N/um", high = "500 N/um" }``."""

    value: Annotated[
        float | None, Field(description="best guess; default: the geometric middle of low and high")
    ] = None
    low: Annotated[float | None, Field(description="lowest value to be expected")] = None
    high: Annotated[float | None, Field(description="highest value to be expected")] = None


class AlongTable(SpringTable):
    """Stiffness along an axis, such as ``"200 N/um"``."""

    value: Annotated[float | None, _spring("stiffness")] = None
    low: Annotated[float | None, _bound("stiffness")] = None
    high: Annotated[float | None, _bound("stiffness")] = None


class AboutTable(SpringTable):
    """Stiffness about an axis, such as ``"2e5 N*m/rad"``."""

    value: Annotated[float | None, _spring("rotational stiffness")] = None
    low: Annotated[float | None, _bound("rotational stiffness")] = None
    high: Annotated[float | None, _bound("rotational stiffness")] = None


def as_spring(value: Any) -> Any:
    """A bare stiffness as a table of one value."""
    return value if isinstance(value, dict) else {"value": value}
