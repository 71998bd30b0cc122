"""Modulus of grains in resin: bounds, a default, voids, and the expansion that follows from the bulk modulus.

The default is the lower bound of Z. Hashin and S. Shtrikman, J. Mech. Phys. Solids 11 (1963) 127: the stiffness of stiff
grains of many sizes, each wrapped in resin. Trapped air enters as a step of its own with the *upper* bound of the same
paper, which is exact for bubbles wrapped in the solid (the lower bound of anything with air in it is zero). Bubbles far
smaller than the grains soften the resin that wraps them and cost about 5 % of E for each per cent of air; bubbles larger
than the grains soften the mix and cost 2 %. The default stands half-way between the two, the spread reaches to both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, fraction, within
from strongback.remedies.fill.elastic import QUARTZ, RESIN, STONE, Elastic, from_bulk_and_shear

__all__ = [
    "QUARTZ",
    "RESIN",
    "STONE",
    "Elastic",
    "MixModulus",
    "ModulusSpread",
    "dry_density",
    "from_bulk_and_shear",
    "hashin_shtrikman",
    "levin",
    "mix_modulus",
    "modulus_spread",
    "reuss",
    "voids_from_density",
    "voigt",
    "with_bubbles",
]

Array = NDArray[np.float64]


def voigt(matrix: Elastic, grains: Elastic, c: float) -> float:
    """Equal strain: E = (1 - c) E_m + c E_g [Pa]."""
    return (1.0 - c) * matrix.E + c * grains.E


def reuss(matrix: Elastic, grains: Elastic, c: float) -> float:
    """Equal stress: 1/E = (1 - c)/E_m + c/E_g [Pa]; zero with an empty phase."""
    if min(matrix.E, grains.E) == 0.0:
        return 0.0 if 0.0 < c < 1.0 else voigt(matrix, grains, c)
    return 1.0 / ((1.0 - c) / matrix.E + c / grains.E)


def hashin_shtrikman(matrix: Elastic, grains: Elastic, c: float) -> tuple[Elastic, Elastic]:
    """Lower and upper bound of two phases.

    Parameters
    ----------
    matrix, grains : Elastic
    c : float
        Volume fraction of grains [-].

    Returns
    -------
    lower, upper : Elastic

    Examples
    --------
    >>> lower, upper = hashin_shtrikman(Elastic(E=3.5e9, nu=0.35), QUARTZ, 0.6)
    >>> round(lower.E / 1e9, 3), round(upper.E / 1e9, 3)
    (12.633, 44.209)
    """
    fraction("fraction of grains", c)
    stiff, soft = (grains, matrix) if grains.G >= matrix.G else (matrix, grains)
    K = [_bound((matrix.K, grains.K), c, 4.0 / 3.0 * G) for G in (soft.G, stiff.G)]
    G = [_bound((matrix.G, grains.G), c, _zeta(phase)) for phase in (soft, stiff)]
    return from_bulk_and_shear(min(K), G[0]), from_bulk_and_shear(max(K), G[1])


def _zeta(phase: Elastic) -> float:
    if phase.G == 0.0:
        return 0.0
    return phase.G / 6.0 * (9.0 * phase.K + 8.0 * phase.G) / (phase.K + 2.0 * phase.G)


def _bound(values: tuple[float, float], c: float, z: float) -> float:
    m, g = values
    if z == 0.0 and min(m, g) == 0.0:
        return 0.0 if 0.0 < c < 1.0 else (m, g)[round(c)]
    return 1.0 / ((1.0 - c) / (m + z) + c / (g + z)) - z


def with_bubbles(solid: Elastic, air: float) -> Elastic:
    """A solid with round bubbles: the upper Hashin-Shtrikman bound with an empty phase.

    Parameters
    ----------
    solid : Elastic
    air : float
        Volume fraction [-].
    """
    return hashin_shtrikman(solid, Elastic(E=0.0, nu=0.25), fraction("fraction of air", air))[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class MixModulus:
    """What theory says of a mix.

    Parameters
    ----------
    default : Elastic
        Lower bound with air: half-way between `large_bubbles` and `small_bubbles`.
    lower, upper : Elastic
        Hashin-Shtrikman bounds without air.
    voigt, reuss : float
        Equal strain, equal stress, without air [Pa].
    large_bubbles, small_bubbles : Elastic
        Lower bound with bubbles larger than the grains, and with all air in the resin.
    grains, air : float
        Volume fractions of the mix [-].
    """

    default: Elastic
    lower: Elastic
    upper: Elastic
    voigt: float
    reuss: float
    large_bubbles: Elastic
    small_bubbles: Elastic
    grains: float
    air: float

    def __repr__(self) -> str:
        return (
            f"MixModulus(E = {self.default.E / 1e9:.1f} GPa; bounds without air {self.lower.E / 1e9:.1f} to "
            f"{self.upper.E / 1e9:.1f} GPa; grains {self.grains:.0%}, air {self.air:.1%})"
        )


def mix_modulus(matrix: Elastic, grains: Elastic, c: float, air: float = 0.0) -> MixModulus:
    """Modulus of a mix from its parts.

    Parameters
    ----------
    matrix, grains : Elastic
    c : float
        Volume of grains over volume of grains and resin [-].
    air : float
        Volume of air over that of the whole mix [-].

    Returns
    -------
    MixModulus

    Raises
    ------
    MixError
        If a fraction is impossible.

    Examples
    --------
    >>> round(mix_modulus(RESIN, STONE, 0.65).default.E / 1e9, 1)
    12.9
    """
    fraction("fraction of grains", c)
    within("fraction of air", air, 0.0, 0.5, "air in a mix is a few per cent")
    lower, upper = hashin_shtrikman(matrix, grains, c)
    whole = c * (1.0 - air)
    # All air in the resin that wraps the grains: its share there is air / (resin + air).
    in_resin = air / (1.0 - whole) if whole < 1.0 else 0.0
    small = hashin_shtrikman(with_bubbles(matrix, in_resin), grains, whole)[0]
    large = with_bubbles(lower, air)
    return MixModulus(
        default=Elastic(E=0.5 * (large.E + small.E), nu=0.5 * (large.nu + small.nu)),
        lower=lower,
        upper=upper,
        voigt=voigt(matrix, grains, c),
        reuss=reuss(matrix, grains, c),
        large_bubbles=large,
        small_bubbles=small,
        grains=whole,
        air=air,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModulusSpread:
    """Young's modulus of a mix as drawn from what is known of its parts [Pa]: 2.5 %, median, 97.5 %, and the draws."""

    low: float
    median: float
    high: float
    draws: Array

    @property
    def u_ln(self) -> float:
        """Standard deviation of ln E [-]."""
        return float(np.std(np.log(self.draws)))


def modulus_spread(
    matrix: Elastic,
    grains: Elastic,
    c: tuple[float, float],
    air: tuple[float, float],
    *,
    u_matrix: float = 0.12,
    u_grains: float = 0.10,
    draws: int = 512,
    seed: int = 0,
) -> ModulusSpread:
    """Spread of the default modulus.

    Parameters
    ----------
    matrix, grains : Elastic
    c, air : tuple of float
        Value and standard uncertainty of the fractions of `mix_modulus` [-].
    u_matrix, u_grains : float
        Relative standard uncertainty of the moduli of resin and grains; 12 % and 10 % are judgement, no source.
    draws : int
        A power of two.
    seed : int

    Returns
    -------
    ModulusSpread
        Each draw also takes a place between large and small bubbles, evenly.
    """
    even = qmc.Sobol(5, scramble=True, rng=np.random.default_rng(seed)).random(draws)
    z = ndtri(np.clip(even[:, :4], 1e-9, 1 - 1e-9))
    E_m = matrix.E * np.exp(u_matrix * z[:, 0])
    E_g = grains.E * np.exp(u_grains * z[:, 1])
    fractions = np.clip(c[0] + c[1] * z[:, 2], 0.0, 0.98)
    bubbles = np.clip(air[0] + air[1] * z[:, 3], 0.0, 0.4)
    E = np.empty(draws)
    for i in range(draws):
        found = mix_modulus(
            Elastic(E=float(E_m[i]), nu=matrix.nu),
            Elastic(E=float(E_g[i]), nu=grains.nu),
            float(fractions[i]),
            float(bubbles[i]),
        )
        E[i] = found.large_bubbles.E + even[i, 4] * (found.small_bubbles.E - found.large_bubbles.E)
    low, median, high = np.quantile(E, (0.025, 0.5, 0.975))
    return ModulusSpread(low=float(low), median=float(median), high=float(high), draws=E)


def levin(matrix: Elastic, grains: Elastic, expansion: tuple[float, float], K: float) -> float:
    """Thermal expansion of a two-phase mix from its bulk modulus.

    Parameters
    ----------
    matrix, grains : Elastic
    expansion : tuple of float
        Of matrix and grains [1/K].
    K : float
        Bulk modulus of the mix [Pa].

    Returns
    -------
    float
        [1/K]. Exact: V. M. Levin 1967; B. W. Rosen and Z. Hashin, Int. J. Eng. Sci. 8 (1970) 157.
    """
    a_m, a_g = expansion
    if matrix.K == grains.K:
        raise MixError(
            "the expansion cannot be told from the bulk modulus when both phases have the same one"
        )
    return a_m + (a_g - a_m) * (1.0 / K - 1.0 / matrix.K) / (1.0 / grains.K - 1.0 / matrix.K)


def dry_density(c: float, grains: float, matrix: float) -> float:
    """Density of a mix without air [kg/m³]; c grains by volume, densities of grains and resin."""
    return c * grains + (1.0 - c) * matrix


def voids_from_density(measured: float, without_air: float) -> float:
    """Air in a casting: 1 - density / density without air [-].

    Parameters
    ----------
    measured, without_air : float
        [kg/m³]

    Returns
    -------
    float

    Raises
    ------
    MixError
        If the casting is heavier than its parts allow.

    Examples
    --------
    >>> round(voids_from_density(2090.0, 2200.0), 3)
    0.05
    """
    above_zero("measured density", measured, "kg/m³")
    air = 1.0 - measured / without_air
    if air < -0.03:
        raise MixError(
            f"the casting is {-air:.1%} denser than its parts without any air",
            hint="check volume, scale, and the densities of grains and resin",
        )
    return max(air, 0.0)
