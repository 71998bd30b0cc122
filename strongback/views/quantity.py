"""Units of what is shown: those of a workshop in millimetres or in inches. Nothing else knows of inches on the way out.

Tables hold numbers in the units of their heads and are converted as they are shown; sentences and figures ask here. Which
units are meant is a setting of the context (`shown_in`), millimetres without one. Exact by definition: the inch is 25.4 mm,
the pound 0.45359237 kg, standard gravity 9.80665 m/s² (yard and pound agreement of 1959; ISO 80000-3).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal, TypeAlias, get_args

from strongback.errors import InputError
from strongback.views.tables import number

__all__ = ["SYSTEMS", "System", "factor_of", "retold", "said", "scale", "shown_in", "system", "unit_of"]

System: TypeAlias = Literal["mm", "inch"]
SYSTEMS: tuple[System, ...] = get_args(System)

INCH, POUND = 0.0254, 0.45359237
LBF = POUND * 9.80665
FOOT = 12.0 * INCH
THOU = 1e-3 * INCH

_SI: Mapping[str, float] = {
    "µm": 1e-6,
    "mm": 1e-3,
    "m": 1.0,
    "N": 1.0,
    "kN": 1e3,
    "MN": 1e6,
    "N m": 1.0,
    "N·m": 1.0,
    "N m²": 1.0,
    "kN m²": 1e3,
    "N m⁴": 1.0,
    "µm/N": 1e-6,
    "µm/(N m)": 1e-6,
    "N/µm": 1e6,
    "kN·m/rad": 1e3,
    "N·m/rad": 1.0,
    "µm/100 mm": 1e-5,
    "kg": 1.0,
    "kg/m": 1.0,
    "kg/m³": 1.0,
    "MPa": 1e6,
    "GPa": 1e9,
    "mm²": 1e-6,
    "mm³": 1e-9,
    "mm⁴": 1e-12,
    "mm⁵": 1e-15,
    "mm⁶": 1e-18,
    "l": 1e-3,
}
"""SI value of one of each unit that is shown."""
_INCHES: Mapping[str, tuple[str, float]] = {
    "µm": ("thou", THOU),
    "mm": ("in", INCH),
    "m": ("ft", FOOT),
    "N": ("lbf", LBF),
    "kN": ("lbf", LBF),
    "MN": ("klbf", 1e3 * LBF),
    "N m": ("lbf ft", LBF * FOOT),
    "N·m": ("lbf·ft", LBF * FOOT),
    "N m²": ("lbf ft²", LBF * FOOT**2),
    "kN m²": ("klbf in²", 1e3 * LBF * INCH**2),
    "N m⁴": ("lbf ft⁴", LBF * FOOT**4),
    "µm/N": ("thou/lbf", THOU / LBF),
    "µm/(N m)": ("thou/(lbf ft)", THOU / (LBF * FOOT)),
    "N/µm": ("lbf/thou", LBF / THOU),
    "kN·m/rad": ("klbf·ft/rad", 1e3 * LBF * FOOT),
    "N·m/rad": ("lbf·ft/rad", LBF * FOOT),
    "µm/100 mm": ("thou/ft", THOU / FOOT),
    "kg": ("lb", POUND),
    "kg/m": ("lb/ft", POUND / FOOT),
    "kg/m³": ("lb/ft³", POUND / FOOT**3),
    "MPa": ("ksi", 1e3 * LBF / INCH**2),
    "GPa": ("Msi", 1e6 * LBF / INCH**2),
    "mm²": ("in²", INCH**2),
    "mm³": ("in³", INCH**3),
    "mm⁴": ("in⁴", INCH**4),
    "mm⁵": ("in⁵", INCH**5),
    "mm⁶": ("in⁶", INCH**6),
    "l": ("US gal", 231.0 * INCH**3),
}
"""What stands for it in a workshop in inches, and its SI value."""

_system: ContextVar[System] = ContextVar("units of what is shown", default="mm")


def system() -> System:
    """Units that are shown now."""
    return _system.get()


@contextmanager
def shown_in(units: str) -> Iterator[None]:
    """Show quantities in other units for a while.

    Parameters
    ----------
    units : {"mm", "inch"}

    Raises
    ------
    InputError
        If there are no such units.

    Examples
    --------
    >>> with shown_in("inch"):
    ...     said(25.4e-6, "µm"), said(100.0, "N")
    ('1.000 thou', '22.5 lbf')
    """
    if units not in SYSTEMS:
        raise InputError(f'"{units}" are no units to show', hint=f"one of: {', '.join(SYSTEMS)}")
    token = _system.set("inch" if units == "inch" else "mm")
    try:
        yield
    finally:
        _system.reset(token)


def unit_of(unit: str) -> str:
    """What a unit is called in the units that are shown; a star or words behind it stay.

    Examples
    --------
    >>> with shown_in("inch"):
    ...     unit_of("µm/N *"), unit_of("%")
    ('thou/lbf *', '%')
    """
    plain, mark = _parted(unit)
    return unit if system() == "mm" or plain not in _INCHES else _INCHES[plain][0] + mark


def scale(unit: str) -> float:
    """SI value of one of what stands for a unit: divide by it to show.

    Parameters
    ----------
    unit : str
        Of the millimetre workshop.

    Examples
    --------
    >>> scale("µm")
    1e-06
    """
    plain, _ = _parted(unit)
    return _SI[plain] if system() == "mm" else _INCHES[plain][1]


def factor_of(unit: str) -> float:
    """What a number in a unit is to be multiplied with to be one in what stands for it; 1 for what stays.

    Examples
    --------
    >>> with shown_in("inch"):
    ...     round(factor_of("mm") * 25.4, 12), factor_of("%")
    (1.0, 1.0)
    """
    plain, _ = _parted(unit)
    return 1.0 if system() == "mm" or plain not in _INCHES else _SI[plain] / _INCHES[plain][1]


def said(value: float, unit: str, show: Callable[[float], str] | None = None) -> str:
    """A quantity with its unit, for sentences.

    Parameters
    ----------
    value : float
        SI.
    unit : str
        Of the millimetre workshop.
    show : callable, optional
        Text of a number in that unit; three significant digits by default.

    Examples
    --------
    >>> said(1.15e-4, "µm"), said(200.0, "N"), said(5.7e-7, "µm/N")
    ('115 µm', '200 N', '0.570 µm/N')
    """
    write = show or (lambda v: number(v, 3))
    return f"{retold(value / _SI[unit], unit, write)} {unit_of(unit)}"


def retold(value: float, unit: str, show: Callable[[float], str]) -> str:
    """Text of a number in what stands for its unit, no coarser than in the unit itself.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : str
        Of the millimetre workshop.
    show : callable
        Text of a number in `unit`.

    Examples
    --------
    >>> with shown_in("inch"):
    ...     retold(114.5, "µm", lambda v: f"{v:+.1f}")
    '+4.508'
    """
    text = show(value)
    plain, _ = _parted(unit)
    if system() == "mm" or plain not in _INCHES or not math.isfinite(value):
        return text
    factor = factor_of(unit)
    try:
        if float(text) == 0.0:
            return text
    except ValueError:
        return text  # a word, or a dash
    if "e" in text:
        return f"{value * factor:.{len(text.split('e')[0].lstrip('+-')) - 2}e}"
    decimals = len(text.partition(".")[2])
    spare = 0.5 if decimals > 1 else 0.0  # a thousandth of µm need not become a hundred-thousandth of thou
    kept = max(0, math.ceil(decimals - math.log10(factor) - spare))
    return f"{value * factor:{'+' if text.startswith('+') else ''}.{kept}f}"


def _parted(unit: str) -> tuple[str, str]:
    """A unit and the mark behind it."""
    plain = unit.removesuffix(" *")
    return plain, unit[len(plain) :]
