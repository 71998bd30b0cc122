"""How hot a pour gets: adiabatic rise, and a slab that loses heat to its walls while it cures.

The slab stands between two faces: the walls of the cell, or the layer below and the open top; what it loses across may be
given as a loss per volume, as of a fin. Implicit finite volumes in
space with the heat of cure released by the kinetics of `cure`; the reaction is advanced within each step at the
temperature of its beginning, and the step is kept short against both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from strongback.remedies.fill._checks import above_zero, fraction, not_negative
from strongback.remedies.fill.cure import Kinetics

__all__ = [
    "Face",
    "HeatHistory",
    "Thermal",
    "adiabatic_rise",
    "cure_heat",
    "mix_heat_capacity",
    "sideways_loss",
]

Array = NDArray[np.float64]
RESIN_HEAT = 450e3  # J/kg, from memory
RESIN_CAPACITY = 1500.0  # J/(kg K), from memory
GRAIN_CAPACITY = 800.0  # J/(kg K), from memory
WARN_PEAK = 333.15  # K, 60 degC: judgement, no source
CELLS = 40


def mix_heat_capacity(w: float, resin: float = RESIN_CAPACITY, grains: float = GRAIN_CAPACITY) -> float:
    """Heat capacity of a mix of resin mass fraction w [J/(kg K)]."""
    return w * resin + (1.0 - w) * grains


def adiabatic_rise(
    w: float, heat: float = RESIN_HEAT, resin: float = RESIN_CAPACITY, grains: float = GRAIN_CAPACITY
) -> float:
    """Temperature rise of a mix that loses no heat: w H / (w c_r + (1 - w) c_s) [K].

    Parameters
    ----------
    w : float
        Resin mass fraction [-].
    heat : float
        Of cure, per mass of resin and hardener [J/kg].
    resin, grains : float
        Heat capacities [J/(kg K)].

    Examples
    --------
    >>> [round(adiabatic_rise(w)) for w in (1.0, 0.20, 0.15, 0.10)]
    [300, 96, 75, 52]
    """
    fraction("resin mass fraction", w)
    return w * heat / mix_heat_capacity(w, resin, grains)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermal:
    """What the mix carries.

    Parameters
    ----------
    conductivity : float
        [W/(m K)]; 1 for resin-bonded sand, 0.6 to 2 from memory.
    density : float
        [kg/m³]
    capacity : float
        [J/(kg K)]
    heat : float
        Of complete cure, per mass of mix [J/kg].
    """

    conductivity: float
    density: float
    capacity: float
    heat: float

    @property
    def diffusivity(self) -> float:
        """[m²/s]"""
        return self.conductivity / (self.density * self.capacity)


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One face of the slab: a wall sheet that air cools.

    Parameters
    ----------
    film : float
        Heat transfer to the air [W/(m² K)]; 10 in still air with radiation, from memory; 0 for none, large for a face
        held at the temperature of the air.
    wall : float
        Heat capacity of the wall sheet for each area of face [J/(m² K)].
    """

    film: float = 10.0
    wall: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatHistory:
    """Temperatures of a slab while it cures.

    Parameters
    ----------
    times : ndarray, shape (steps,)
        [s]
    hottest, at_faces : ndarray, shape (steps,) and (steps, 2)
        [K]
    profile : ndarray, shape (cells,)
        At the time of the peak, with what is below [K].
    peak : float
        [K]
    peak_time : float
        [s]
    degree : ndarray, shape (cells,)
        Of cure at the end [-].
    lost : float
        Heat that left through both faces, per area [J/m²].
    stored : float
        Heat in slab and walls at the end above the start [J/m²].
    released : float
        [J/m²]
    cooled : float
        Time at which the hottest point is within 5 K of the air again; nan if not reached [s].
    """

    times: Array
    hottest: Array
    at_faces: Array
    profile: Array
    peak: float
    peak_time: float
    degree: Array
    lost: float
    stored: float
    released: float
    cooled: float

    def __repr__(self) -> str:
        return (
            f"HeatHistory(peak {self.peak - 273.15:.0f} degC after {self.peak_time / 3600:.1f} h; "
            f"cure {self.degree.min():.0%} to {self.degree.max():.0%})"
        )


def cure_heat(
    thickness: float,
    thermal: Thermal,
    kinetics: Kinetics,
    faces: tuple[Face, Face],
    *,
    start: float,
    air: float,
    duration: float,
    sideways: float = 0.0,
    below: float = 0.0,
    cells: int = CELLS,
    largest_step: float | None = None,
) -> HeatHistory:
    """Temperature and cure across a slab.

    Parameters
    ----------
    thickness : float
        Between the faces [m].
    thermal : Thermal
    kinetics : Kinetics
    faces : tuple of Face
    start, air : float
        Temperature of the mix as poured, and of the air [K].
    duration : float
        [s]
    sideways : float
        Loss to the air across the slab for each volume, see `sideways_loss` [W/(m³ K)].
    below : float
        Thickness of cured fill at the temperature of the air between the first face and the slab [m].
    cells : int
        Across the slab.
    largest_step : float, optional
        Longest step in time; default a three-hundredth of the duration [s].

    Returns
    -------
    HeatHistory
    """
    above_zero("thickness of the layer", thickness, "m")
    above_zero("duration", duration, "s")
    not_negative("heat of cure", thermal.heat, "J/kg")
    dx = thickness / cells
    old = round(not_negative("cured fill below", below, "m") / dx)
    n = cells + old
    capacity = np.full(n + 2, thermal.density * thermal.capacity * dx)
    capacity[0], capacity[-1] = faces[0].wall, faces[1].wall
    links = np.full(n + 1, thermal.conductivity / dx)
    links[0] = links[-1] = 2.0 * thermal.conductivity / dx  # from the centre of the outer cell to the wall
    film = np.full(n + 2, sideways * dx)
    film[0], film[-1] = faces[0].film, faces[1].film
    T = np.full(n + 2, start)
    T[: old + 1] = T[-1] = air
    a = np.zeros(n)
    a[:old] = 1.0  # cured: releases nothing
    slab = _Slab(capacity=capacity, links=links, film=film, air=air, heat=thermal.density * thermal.heat * dx)
    step = largest_step or duration / 300.0
    return _march(slab, T, a, kinetics, thermal.heat / thermal.capacity, duration, step)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Slab:
    """Cells between two wall nodes, for each area: capacities, conductances, losses to the air, heat of a full cure."""

    capacity: Array
    links: Array
    film: Array
    air: float
    heat: float


def sideways_loss(
    perimeter: float, area: float, half_width: float, conductivity: float, film: float
) -> float:
    """Loss of a prism through its sides for each volume [W/(m³ K)].

    Parameters
    ----------
    perimeter, area : float
        Of the cell [m, m²].
    half_width : float
        [m]
    conductivity : float
        [W/(m K)]
    film : float
        From wall to air [W/(m² K)].

    Returns
    -------
    float
        Film and the mean path of heat made evenly over the half-width (a third of it) in series.
    """
    return perimeter / area / (1.0 / film + half_width / (3.0 * conductivity))


def _march(
    slab: _Slab, T: Array, a: Array, kinetics: Kinetics, rise: float, duration: float, largest: float
) -> HeatHistory:
    """Step through the cure; `rise` is the adiabatic rise of a full cure [K]."""
    begin, first, now, lost = T.copy(), a.copy(), 0.0, 0.0
    rows: list[tuple[float, float, float, float]] = [(0.0, float(T[1:-1].max()), float(T[0]), float(T[-1]))]
    peak, peak_time, profile = rows[0][1], 0.0, T[1:-1].copy()
    while now < duration * (1.0 - 1e-12):
        rate = kinetics.rate(a, T[1:-1])
        fastest = float(rate.max()) * max(1.0, rise)
        step = min(largest, duration - now, 0.5 / fastest if fastest > 0.0 else largest)
        # One corrector of the degree: the trapezium rule at the temperature of the beginning.
        ahead = np.minimum(a + step * rate, 1.0)
        grown = np.minimum(0.5 * step * (rate + kinetics.rate(ahead, T[1:-1])), 1.0 - a)
        heat = np.zeros(len(T))
        heat[1:-1] = slab.heat * grown / step
        T = _implicit_step(slab, T, heat, step)
        lost += step * float(slab.film @ (T - slab.air))
        a = a + grown
        now += step
        hottest = float(T[1:-1].max())
        if hottest > peak:
            peak, peak_time, profile = hottest, now, T[1:-1].copy()
        rows.append((now, hottest, float(T[0]), float(T[-1])))
    table = np.array(rows)
    after = table[(table[:, 0] > peak_time) & (table[:, 1] < slab.air + 5.0), 0]
    return HeatHistory(
        times=table[:, 0],
        hottest=table[:, 1],
        at_faces=table[:, 2:],
        profile=profile,
        peak=peak,
        peak_time=peak_time,
        degree=a[first < 1.0],
        lost=lost,
        stored=float(slab.capacity @ (T - begin)),
        released=float(slab.heat * (a - first).sum()),
        cooled=float(after[0]) if len(after) else float("nan"),
    )


def _implicit_step(slab: _Slab, T: Array, heat: Array, step: float) -> Array:
    """Backward Euler: capacity dT/dt = conduction + film (air - T) + heat."""
    diagonal = slab.capacity / step + slab.film
    diagonal[:-1] += slab.links
    diagonal[1:] += slab.links
    band = np.zeros((3, len(T)))
    band[0, 1:], band[1], band[2, :-1] = -slab.links, diagonal, -slab.links
    return np.asarray(solve_banded((1, 1), band, slab.capacity / step * T + slab.film * slab.air + heat))
