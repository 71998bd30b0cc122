"""Grains and resin of a plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.remedies.fill.geometry import CellShape
from strongback.remedies.fill.grading import BlendFit, Curve, andreasen, blend, dinger_funk, fuller, mean_size
from strongback.remedies.fill.mix import Mix, Target
from strongback.remedies.fill.packing import (
    Packing,
    furnas,
    largest_grain,
    linear_packing,
    wall_void_fraction,
)
from strongback.remedies.fill.recipe import Recipe, recipe
from strongback.remedies.fill.voids import VoidResult, void_fraction

__all__ = ["Mixture", "grain_warnings", "mixture_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mixture:
    """Grains and resin.

    Parameters
    ----------
    fit : BlendFit
        Bags against the grading wished for.
    mass_shares : tuple of (str, float)
        As they will be weighed.
    grain_density : float
        Of the blend [kg/m³].
    packing : Packing
        Predicted by the linear packing model.
    ideal : float
        Furnas' limit for as many sizes [-].
    voids : VoidResult or None
        As measured.
    void_in_cells : float
        What the recipe is made for: measured where it was, with the loosening at the walls [-].
    largest_allowed : float
        Grain size [m].
    recipe : Recipe
    """

    ONLY: ClassVar[Telling] = (
        ("bags", "mass_shares", ("name", "mass_share")),
        ("target", "fit.target.name"),
        ("rms_passing", "fit.rms"),
        ("void_fraction", "voids.void_fraction.value"),
        ("void_fraction_u", "voids.void_fraction.u"),
        ("trapped_air", "voids.trapped_air"),
        ("void_fraction_predicted", "packing.void_fraction"),
        ("void_fraction_in_cells", "void_in_cells"),
        ("largest_grain_allowed_m", "largest_allowed"),
        ("resin_mass_fraction", "recipe.resin_mass_fraction"),
        ("density_kg_per_m3", "recipe.density"),
        ("batches", "recipe.batches"),
        ("batch", "recipe.batch"),
        ("cost", "recipe.cost"),
    )

    fit: BlendFit
    mass_shares: tuple[tuple[str, float], ...]
    grain_density: float
    packing: Packing
    ideal: float
    voids: VoidResult | None
    void_in_cells: float
    largest_allowed: float
    recipe: Recipe


def _curve(target: Target) -> Curve:
    if target.curve == "fuller":
        return fuller(target.largest)
    if target.curve == "andreasen":
        return andreasen(target.largest, target.q)
    if target.curve == "dinger-funk":
        return dinger_funk(target.smallest, target.largest, target.q)
    raise MixError(
        f'unknown grading "{target.curve[:40]}"', hint='write "fuller", "andreasen" or "dinger-funk"'
    )


def mixture_of(mix: Mix, cells: Sequence[CellShape], volume: float) -> Mixture:
    """Bags blended, voids measured or predicted, and the recipe for a volume [m³]."""
    if not mix.bags:
        raise MixError("no bags of grains", hint="give each bag with its sieve sizes and what passes them")
    fit = blend(mix.bags, _curve(mix.target))
    masses = np.array(mix.shares if mix.shares else [share for _, share in fit.mass_shares])
    if len(masses) != len(mix.bags):
        raise MixError(f"{len(masses)} shares for {len(mix.bags)} bags")
    if np.any(masses < 0.0) or masses.sum() <= 0.0:
        raise MixError("shares of the bags must not be negative, nor all zero")
    masses = masses / masses.sum()
    parts = masses / np.array([bag.density for bag in mix.bags])
    grain_density = 1.0 / float(parts.sum())
    sizes, betas = [mean_size(bag) for bag in mix.bags], [1.0 - bag.void_fraction for bag in mix.bags]
    packing = linear_packing(sizes, betas, (parts / parts.sum()).tolist())
    voids = void_fraction(mix.void_tests, grain_density) if mix.void_tests else None
    void = voids.void_fraction.value if voids else packing.void_fraction
    used = [bag for bag, share in zip(mix.bags, masses, strict=True) if share > 1e-3]
    surface = sum(c.perimeter for c in cells) / sum(c.area for c in cells)
    in_cells = wall_void_fraction(void, max(mean_size(bag) for bag in used), 1.0, surface)
    shares = tuple((bag.name, float(m)) for bag, m in zip(mix.bags, masses, strict=True))
    made = recipe(
        volume,
        in_cells,
        mix.resin,
        shares,
        grain_density=grain_density,
        excess=mix.excess,
        loss=mix.loss,
        mixer=mix.mixer,
        prices=[bag.price for bag in mix.bags],
    )
    allowed = min(largest_grain(c.gap) for c in cells)
    return Mixture(
        fit=fit,
        mass_shares=shares,
        grain_density=grain_density,
        packing=packing,
        ideal=furnas(float(np.mean(betas)), len(used)),
        voids=voids,
        void_in_cells=in_cells,
        largest_allowed=allowed,
        recipe=made,
    )


def grain_warnings(mix: Mix, mixture: Mixture) -> list[str]:
    """What the bags and the void test say against each other and against the cells."""
    found = []
    shares: Mapping[str, float] = dict(mixture.mass_shares)
    for bag in mix.bags:
        if shares[bag.name] > 1e-3 and bag.sizes[-1] > mixture.largest_allowed:
            found.append(
                f'grains of "{bag.name}" up to {bag.sizes[-1] * 1e3:.1f} mm may bridge: a fifth of the narrowest gap is '
                f"{mixture.largest_allowed * 1e3:.1f} mm"
            )
    if mixture.voids is not None:
        off = mixture.voids.void_fraction.value - mixture.packing.void_fraction
        if abs(off) > 0.05:
            found.append(
                f"voids measured and predicted differ by {abs(off):.0%}: check the bags' own void fractions and shares"
            )
    return found
