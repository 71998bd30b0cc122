"""A filled section as a function of how stiff its fill became and how far it holds to the wall."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from strongback.section.outline import filled
from strongback.section.values import Fill, Matrix, Outline, SectionStiffness

__all__ = ["MODULI", "FillFamily", "fill_family", "with_modulus"]

Array = NDArray[np.float64]
MODULI = (0.2, 0.45, 0.7, 1.0, 1.5)  # of the modulus that was meant
Limits = tuple[SectionStiffness, SectionStiffness]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FillFamily:
    """A filled section between its limits.

    Parameters
    ----------
    name : str
    moduli : ndarray, shape (k,)
        Factors on the modulus of the fill, rising.
    sliding, bonded : tuple of SectionStiffness
        One for each modulus.
    hold : float
        Hold that was meant: 1 bonded, 0 sliding.
    """

    name: str
    moduli: Array
    sliding: tuple[SectionStiffness, ...]
    bonded: tuple[SectionStiffness, ...]
    hold: float
    _curves: tuple[Callable[[float], Array], Callable[[float], Array]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        sliding, bonded = (
            PchipInterpolator(self.moduli, np.array([_numbers(s) for s in sections]))
            for sections in (self.sliding, self.bonded)
        )
        object.__setattr__(self, "_curves", (sliding, bonded))

    def at(self, log_modulus: float, hold: float) -> SectionStiffness:
        """Section with a modulus of exp(`log_modulus`) of the one meant and a hold between 0 and 1.

        Bending and axial stiffness of a bonded fill are linear in its modulus and torsion bends little, so that a
        smooth curve through the solved sections holds them; between the limits of the bond the stiffness is taken as
        linear in the hold.
        """
        m = float(np.clip(math.exp(log_modulus), self.moduli[0], self.moduli[-1]))
        h = float(np.clip(hold, 0.0, 1.0))
        numbers = (1.0 - h) * _between(self.moduli, self.sliding, m) + h * _between(
            self.moduli, self.bonded, m
        )
        return _section(self.bonded[-1], numbers)


def _between(moduli: Array, sections: Sequence[SectionStiffness], m: float) -> Array:
    rows = np.array([_numbers(s) for s in sections])
    return np.asarray(PchipInterpolator(moduli, rows)(m))


_SCALARS = ("EA", "EIx", "EIy", "EIxy", "GJ", "EGamma", "kGAx", "kGAy")


def _numbers(section: SectionStiffness) -> Array:
    head = [getattr(section, name) for name in _SCALARS]
    return np.array([*head, *section.centroid, *section.shear_centre, *np.ravel(section.matrix)])


def _section(like: SectionStiffness, numbers: Array) -> SectionStiffness:
    n = len(_SCALARS)
    values = [float(v) for v in numbers]
    rows = np.asarray(numbers[n + 4 :]).reshape(8, 8)
    matrix: Matrix = tuple(tuple(float(v) for v in row) for row in 0.5 * (rows + rows.T))
    EA, EIx, EIy, EIxy, GJ, EGamma, kGAx, kGAy = values[:n]
    return dataclasses.replace(
        like,
        EA=EA,
        EIx=EIx,
        EIy=EIy,
        EIxy=EIxy,
        GJ=GJ,
        EGamma=EGamma,
        kGAx=kGAx,
        kGAy=kGAy,
        centroid=(values[n], values[n + 1]),
        shear_centre=(values[n + 2], values[n + 3]),
        matrix=matrix,
    )


def with_modulus(outline: Outline, factor: float) -> Outline:
    """The outline with the modulus of every fill multiplied."""
    fills: dict[str, Fill | None] = {
        cell.name: dataclasses.replace(
            cell.fill, material=dataclasses.replace(cell.fill.material, E=cell.fill.material.E * factor)
        )
        for cell in outline.cells
        if cell.fill is not None
    }
    return filled(outline, fills)


def fill_family(
    name: str,
    outline: Outline,
    limits: Callable[[Outline], Mapping[str, SectionStiffness]],
    moduli: Sequence[float] = MODULI,
) -> FillFamily:
    """Solve a filled section for several moduli of its fill.

    Parameters
    ----------
    name : str
    outline : Outline
        With at least one filled cell.
    limits : callable
        ``"bonded"`` and ``"sliding"`` stiffness of an outline.
    moduli : sequence of float
        Rising.

    Returns
    -------
    FillFamily
    """
    solved = [limits(with_modulus(outline, m)) for m in moduli]
    loose = any(c.fill is not None and c.fill.bond == "sliding" for c in outline.cells)
    return FillFamily(
        name=name,
        moduli=np.array(moduli),
        sliding=tuple(s["sliding"] for s in solved),
        bonded=tuple(s["bonded"] for s in solved),
        hold=0.0 if loose else 1.0,
    )
