"""Refusals shared by the steps of a fill: a figure that cannot be is explained, not computed with."""

from __future__ import annotations

import math

from strongback.errors import MixError

__all__ = ["above_zero", "fraction", "not_negative", "within"]


def above_zero(name: str, value: float, unit: str, hint: str = "") -> float:
    """A number that must be finite and above zero."""
    if not (math.isfinite(value) and value > 0.0):
        raise MixError(f"{name} = {value:g} {unit} must be above 0".replace("  ", " "), hint=hint)
    return value


def not_negative(name: str, value: float, unit: str, hint: str = "") -> float:
    """A number that must be finite and not below zero."""
    if not (math.isfinite(value) and value >= 0.0):
        raise MixError(f"{name} = {value:g} {unit} must not be negative".replace("  ", " "), hint=hint)
    return value


def fraction(name: str, value: float, hint: str = "") -> float:
    """A number from 0 to 1."""
    return within(name, value, 0.0, 1.0, hint)


def within(name: str, value: float, low: float, high: float, hint: str = "") -> float:
    """A number between two bounds, which are allowed."""
    if not low <= value <= high:
        raise MixError(f"{name} = {value:g} must lie between {low:g} and {high:g}", hint=hint)
    return value
