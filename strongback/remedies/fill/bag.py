"""A bag of grains."""

from __future__ import annotations

from dataclasses import dataclass

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, within

__all__ = ["Bag"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bag:
    """A bag of grains as it can be bought.

    Parameters
    ----------
    name : str
    sizes : tuple of float
        Sieve openings, rising [m].
    passing : tuple of float
        Share passing each opening, rising, the last 1 [-].
    density : float
        Of the solid grain [kg/m³].
    void_fraction : float
        Of the packed bag alone [-].
    price : float
        [per kg]; 0 where it is not known.
    """

    name: str
    sizes: tuple[float, ...]
    passing: tuple[float, ...]
    density: float = 2650.0
    void_fraction: float = 0.4
    price: float = 0.0

    def __post_init__(self) -> None:
        if len(self.sizes) != len(self.passing) or len(self.sizes) < 2:
            raise MixError(f'bag "{self.name}": give at least two sieve sizes, each with its share passing')
        above_zero(f'bag "{self.name}": smallest sieve', self.sizes[0], "m")
        if not 1e-7 <= self.sizes[0] <= self.sizes[-1] <= 0.2:
            raise MixError(f'bag "{self.name}": sieve sizes are not those of grains', hint="check the unit")
        above_zero(f'bag "{self.name}": density', self.density, "kg/m³")
        within(f'bag "{self.name}": void fraction', self.void_fraction, 0.05, 0.7)
        if any(b <= a for a, b in zip(self.sizes[:-1], self.sizes[1:], strict=True)):
            raise MixError(f'bag "{self.name}": sieve sizes must rise')
        steps = zip(self.passing[:-1], self.passing[1:], strict=True)
        if any(b < a for a, b in steps) or not 0.0 <= self.passing[0] or abs(self.passing[-1] - 1.0) > 1e-9:
            raise MixError(
                f'bag "{self.name}": share passing must rise from 0 or more to 1',
                hint="give what passes each sieve, not what it retains",
            )
