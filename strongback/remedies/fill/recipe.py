"""From a void fraction to grams on a scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, not_negative, within
from strongback.remedies.fill.voids import HIGHEST, LOWEST

__all__ = [
    "Batch",
    "Recipe",
    "Resin",
    "check_ratio",
    "mix_density",
    "recipe",
    "resin_demand",
    "resin_mass_fraction",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Resin:
    """A two-part resin as its data sheet states it.

    Parameters
    ----------
    name : str
    a, b : float
        Parts of resin and hardener by mass, such as 100 and 32.
    density : float
        Of the mixed resin [kg/m³].
    E : float
        Young's modulus when cured [Pa].
    nu : float
    expansion : float
        [1/K]
    pot_life : float
        [s]
    pot_life_at : float
        Temperature at which it is stated [K].
    heat : float
        Of cure, per mass of both parts [J/kg].
    shrinkage : float
        Linear shrinkage of the *mix* after gel [-].
    price : float
        [per kg]; 0 where it is not known.
    """

    name: str
    a: float = 100.0
    b: float = 32.0
    density: float = 1120.0
    E: float = 3.2e9
    nu: float = 0.36
    expansion: float = 60e-6
    pot_life: float = 2400.0
    pot_life_at: float = 296.15
    heat: float = 450e3
    shrinkage: float = 3e-4
    price: float = 0.0


def check_ratio(a: float, b: float) -> None:
    """Refuse a mixing ratio that cannot be meant.

    Parameters
    ----------
    a, b : float
        Parts of resin and hardener by mass.

    Raises
    ------
    MixError
        If a part is not above zero, there is ten times more hardener than resin, or less than one part in 200 of it.
    """
    above_zero("parts of resin (A)", a, "")
    above_zero("parts of hardener (B)", b, "")
    if a / b > 200.0:
        raise MixError(
            f"mixing ratio {a:g}:{b:g} is beyond 200 to 1", hint="resin to hardener by mass, such as 100:32"
        )
    if a / b < 0.1:
        raise MixError(
            f"mixing ratio {a:g}:{b:g} has ten times more hardener than resin", hint=f"was {b:g}:{a:g} meant?"
        )


def resin_demand(void: float, excess: float = 0.10) -> float:
    """Volume of resin over volume of mix: the room between the grains and a little more to wet them [-].

    Parameters
    ----------
    void : float
        [-]
    excess : float
        5 to 15 % is common practice, no source [-].
    """
    within("void fraction", void, LOWEST, HIGHEST, "packed sand leaves about two fifths")
    within("wetting excess", excess, 0.0, 0.5, "0.05 to 0.15 is usual")
    return void * (1.0 + excess)


def resin_mass_fraction(v: float, resin: float, grains: float) -> float:
    """Mass fraction of resin from its volume fraction v and the two densities.

    Examples
    --------
    >>> round(resin_mass_fraction(0.38, 1100.0, 2650.0), 4)
    0.2028
    """
    return v * resin / (v * resin + (1.0 - v) * grains)


def mix_density(v: float, resin: float, grains: float) -> float:
    """Density of a mix without air [kg/m³].

    Examples
    --------
    >>> round(mix_density(0.38, 1100.0, 2650.0), 1)
    2061.0
    """
    return v * resin + (1.0 - v) * grains


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One mixer load [kg]; grains by bag."""

    ONLY: ClassVar[Telling] = (
        ("resin_a_kg", "resin_a"),
        ("resin_b_kg", "resin_b"),
        ("grains", "grains", ("name", "mass_kg")),
    )

    resin_a: float
    resin_b: float
    grains: tuple[tuple[str, float], ...]

    @property
    def mass(self) -> float:
        """[kg]"""
        return self.resin_a + self.resin_b + sum(mass for _, mass in self.grains)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """All that has to be weighed.

    Parameters
    ----------
    volume : float
        Of the cavity [m³].
    resin_volume_fraction, resin_mass_fraction : float
        [-]
    density : float
        Of the mix without air [kg/m³].
    whole : Batch
        With the loss.
    batch : Batch
        One of `batches` equal loads.
    batches : int
    fill_mass : float
        What ends up in the cavity [kg].
    cost : float
        Of `whole`; 0 where no price is known.
    warnings : tuple of str
    """

    volume: float
    resin_volume_fraction: float
    resin_mass_fraction: float
    density: float
    whole: Batch
    batch: Batch
    batches: int
    fill_mass: float
    cost: float
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        return (
            f"Recipe({self.batches} batches of {self.batch.mass:.2f} kg: A {self.batch.resin_a * 1e3:.0f} g, "
            f"B {self.batch.resin_b * 1e3:.0f} g, grains {sum(m for _, m in self.batch.grains) * 1e3:.0f} g)"
        )


def recipe(
    volume: float,
    void: float,
    resin: Resin,
    grains: Sequence[tuple[str, float]],
    *,
    grain_density: float,
    excess: float = 0.10,
    loss: float = 0.05,
    mixer: float = 5.0,
    prices: Sequence[float] = (),
) -> Recipe:
    """Masses for a cavity.

    Parameters
    ----------
    volume : float
        [m³]
    void : float
        Of the packed grains [-].
    resin : Resin
    grains : sequence of (str, float)
        Bag and its share of the grains by mass.
    grain_density : float
        Of the blend [kg/m³].
    excess : float
        Resin above the void volume [-].
    loss : float
        What sticks to tools and the mixer [-].
    mixer : float
        Largest load [kg].
    prices : sequence of float
        Of the bags [per kg].

    Returns
    -------
    Recipe

    Raises
    ------
    MixError
        If a figure cannot be.

    Examples
    --------
    >>> resin = Resin(name="epoxy", a=100, b=32, density=1120.0)
    >>> found = recipe(4.2e-3, 0.27, resin, [("sand", 1.0)], grain_density=2650.0, excess=0.08, mixer=20.0)
    >>> [round(m * 1e3) for m in (found.whole.resin_a, found.whole.resin_b, found.whole.grains[0][1])]
    [1091, 349, 8279]
    """
    above_zero("volume of the cavity", volume, "m³")
    above_zero("mixer load", mixer, "kg")
    above_zero("density of the grains", grain_density, "kg/m³")
    above_zero("density of the resin", resin.density, "kg/m³")
    not_negative("loss", loss, "")
    check_ratio(resin.a, resin.b)
    v = resin_demand(void, excess)
    if v >= 1.0:
        raise MixError("the resin would fill the whole cavity", hint="check void fraction and excess")
    w = resin_mass_fraction(v, resin.density, grain_density)
    density = mix_density(v, resin.density, grain_density)
    whole = _split(volume * (1.0 + loss) * density, w, resin, grains)
    batches = math.ceil(whole.mass / mixer * (1.0 - 1e-12))
    cost = (whole.resin_a + whole.resin_b) * resin.price
    cost += sum(mass * price for (_, mass), price in zip(whole.grains, prices, strict=False))
    return Recipe(
        volume=volume,
        resin_volume_fraction=v,
        resin_mass_fraction=w,
        density=density,
        whole=whole,
        batch=_split(whole.mass / batches, w, resin, grains),
        batches=batches,
        fill_mass=volume * density,
        cost=cost,
        warnings=_warnings(w, resin, whole.mass / batches),
    )


def _split(mass: float, w: float, resin: Resin, grains: Sequence[tuple[str, float]]) -> Batch:
    total = sum(share for _, share in grains)
    above_zero("shares of the bags", total, "")
    both = mass * w
    return Batch(
        resin_a=both * resin.a / (resin.a + resin.b),
        resin_b=both * resin.b / (resin.a + resin.b),
        grains=tuple((name, mass * (1.0 - w) * share / total) for name, share in grains),
    )


def _warnings(w: float, resin: Resin, batch: float) -> tuple[str, ...]:
    found = []
    if w < 0.10:
        found.append(
            f"{w:.1%} resin by mass: mixes near 10 % bonded poorly to their walls in published tests "
            "(Yemam et al. 2017); wipe neat resin on the wall first"
        )
    if resin.b > resin.a:
        found.append(
            f"mixing ratio {resin.a:g}:{resin.b:g} has more hardener than resin: is it turned round? Look at the data sheet"
        )
    hardener = batch * w * resin.b / (resin.a + resin.b)
    if hardener < 0.1:
        found.append(
            f"{hardener * 1e3:.0f} g of hardener in a batch: 1 g on the scale is {1e-3 / hardener:.1%} of it; "
            "use a finer scale or larger batches"
        )
    return tuple(found)
