"""What a casting goes through while it cures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strongback.errors import MixError
from strongback.remedies.fill._checks import within

__all__ = ["Stage"]

COLDEST, HOTTEST = 263.15, 473.15  # K


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A time at a temperature: duration [s], temperature [K]."""

    duration: float
    temperature: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.duration) and self.duration >= 0.0):
            raise MixError(
                f"cure time {self.duration / 86400.0:g} d must not be negative",
                hint="count the time from mixing",
            )
        within(
            "cure temperature [K]",
            self.temperature,
            COLDEST,
            HOTTEST,
            'give it with a unit, such as "20 degC"',
        )
