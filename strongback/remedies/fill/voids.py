"""How much room a packed bed of dry grains leaves: poured water, weight, and both together.

Water fills the connected room between the grains: phi_w = m_w / (rho_w V). Weight gives all that is not grain:
phi_m = 1 - m_s / (rho_s V). The difference is air that the water did not drive out, or a wrong grain density, or
pores inside the grains.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from strongback.errors import MixError
from strongback.remedies.fill._checks import above_zero, not_negative

__all__ = [
    "HIGHEST",
    "LOWEST",
    "Estimate",
    "VoidResult",
    "VoidTest",
    "by_volumes",
    "void_fraction",
    "void_ratio",
]

WATER = 998.0  # kg/m³ at 20 degC
LOWEST, HIGHEST = 0.05, 0.7
LARGEST_DIFFERENCE = 0.02
SCALE_STEP = 1e-3  # kg, kitchen scale
VOLUME_HALF_WIDTH = 0.005  # of the volume of a jug filled to a mark, common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class VoidTest:
    """One filling of a vessel with dry, vibrated grains.

    Parameters
    ----------
    volume : float
        Of the vessel [m³].
    grains : float, optional
        Mass of dry grains in it [kg].
    water : float, optional
        Mass of water that just wets the surface [kg].
    """

    volume: float
    grains: float | None = None
    water: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its standard uncertainty and degrees of freedom (JCGM 100:2008)."""

    value: float
    u: float
    dof: float
    repeats: int


@dataclass(frozen=True, slots=True, kw_only=True)
class VoidResult:
    """Void fraction of a packed bed.

    Parameters
    ----------
    by_water, by_weight : Estimate or None
        [-]; None where that test was not made.
    trapped_air : float or None
        By weight minus by water [-].
    void_fraction : Estimate
        The one to mix by: by weight where there is one, as resin has to fill all of it.
    warnings : tuple of str
    """

    by_water: Estimate | None
    by_weight: Estimate | None
    trapped_air: float | None
    void_fraction: Estimate
    warnings: tuple[str, ...]


def by_volumes(bulk: float, poured: float) -> float:
    """Void fraction from the bulk volume of grains and the volume of water poured in.

    Examples
    --------
    >>> round(by_volumes(185e-6, 68e-6), 4)
    0.3676
    """
    return poured / bulk


def void_ratio(e: float) -> float:
    """Void fraction n from the void ratio e of soil mechanics: n = e / (1 + e).

    Examples
    --------
    >>> round(void_ratio(0.54), 3)
    0.351
    """
    return e / (1.0 + e)


def void_fraction(
    tests: Sequence[VoidTest], grain_density: float, *, water_density: float = WATER
) -> VoidResult:
    """Void fraction with its uncertainty from one or more fillings.

    Parameters
    ----------
    tests : sequence of VoidTest
    grain_density : float
        Of the solid grain, not of the heap [kg/m³].
    water_density : float
        [kg/m³]

    Returns
    -------
    VoidResult

    Raises
    ------
    MixError
        If masses and volumes contradict each other, or the fraction is outside 0.05 to 0.7.

    Examples
    --------
    >>> found = void_fraction([VoidTest(volume=1e-3, grains=1.690, water=0.352)], 2650.0, water_density=1000.0)
    >>> f"{found.by_weight.value:.3f} {found.by_water.value:.3f} {found.trapped_air:.3f}"
    '0.362 0.352 0.010'
    """
    if not tests:
        raise MixError(
            "no void test", hint="fill a jug with dry grains, weigh it, pour water to the brim, weigh again"
        )
    above_zero("density of the grains", grain_density, "kg/m³")
    for number, test in enumerate(tests, 1):
        _check(test, number, grain_density, water_density)
    water = _estimate(tests, [t.water for t in tests], water_density, of_grains=False)
    weight = _estimate(tests, [t.grains for t in tests], grain_density, of_grains=True)
    chosen = weight or water
    assert chosen is not None  # _check refuses a test without either
    for estimate in (water, weight):
        if estimate is not None:
            _plausible(estimate.value)
    air = weight.value - water.value if water is not None and weight is not None else None
    return VoidResult(
        by_water=water,
        by_weight=weight,
        trapped_air=air,
        void_fraction=chosen,
        warnings=_warnings(air, chosen),
    )


def _check(test: VoidTest, number: int, grain_density: float, water_density: float) -> None:
    where = f"void test {number}"
    above_zero(f"{where}: volume", test.volume, "m³")
    if test.grains is None and test.water is None:
        raise MixError(
            f"{where}: neither grains nor water weighed", hint="give at least one of the two masses"
        )
    if test.grains is not None:
        above_zero(f"{where}: grains", test.grains, "kg")
        if test.grains > grain_density * test.volume:
            raise MixError(
                f"{where}: {test.grains:g} kg of grains of {grain_density:g} kg/m³ do not fit into {test.volume * 1e3:g} L",
                hint=f"solid grain would weigh {grain_density * test.volume:.3g} kg; check tare, volume and density",
            )
    if test.water is not None:
        not_negative(f"{where}: water", test.water, "kg")
        if test.water > water_density * test.volume:
            raise MixError(
                f"{where}: {test.water:g} kg of water is more than the {test.volume * 1e3:g} L vessel holds",
                hint="give the mass of the water alone",
            )


def _plausible(value: float) -> None:
    if not LOWEST <= value <= HIGHEST:
        raise MixError(
            f"void fraction {value:.3f} is outside {LOWEST:g} to {HIGHEST:g}",
            hint="equal spheres leave 0.26 to 0.48; check masses, volume and grain density",
        )


def _estimate(
    tests: Sequence[VoidTest], masses: Sequence[float | None], density: float, *, of_grains: bool
) -> Estimate | None:
    pairs = [(t.volume, m) for t, m in zip(tests, masses, strict=True) if m is not None]
    if not pairs:
        return None
    taken = np.array([m / (density * v) for v, m in pairs])
    value = float(taken.mean())
    scale = SCALE_STEP / math.sqrt(12.0) / (density * pairs[0][0])
    volume = (
        value * VOLUME_HALF_WIDTH / math.sqrt(3.0)
    )  # the same vessel each time: repeats do not average it out
    n = len(taken)
    spread = float(taken.std(ddof=1)) / math.sqrt(n) if n > 1 else 0.0
    u = math.sqrt(scale**2 + volume**2 + spread**2)
    # Welch-Satterthwaite: only the repeats have finite degrees of freedom.
    dof = (n - 1) * (u / spread) ** 4 if spread > 0.0 else math.inf
    return Estimate(value=1.0 - value if of_grains else value, u=u, dof=dof, repeats=n)


def _warnings(air: float | None, chosen: Estimate) -> tuple[str, ...]:
    found = []
    if air is not None and abs(air) > LARGEST_DIFFERENCE:
        cause = (
            "air stayed between the grains, the grains have pores, or their density is lower than given"
            if air > 0.0
            else "water ran beside the grains, or their density is higher than given"
        )
        found.append(
            f"water and weight differ by {abs(air):.1%} of the volume, more than 2 %: {cause}; repeat the test"
        )
    if chosen.repeats == 1:
        found.append("one filling only: no repeats, so the scatter of packing is not in the uncertainty")
    return tuple(found)
