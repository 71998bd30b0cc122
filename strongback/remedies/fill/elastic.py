"""Elastic phases of a mix."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["QUARTZ", "RESIN", "STONE", "Elastic", "from_bulk_and_shear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Elastic:
    """An isotropic phase or mix: Young's modulus [Pa] and Poisson's ratio.

    Examples
    --------
    >>> round(Elastic(E=3.5e9, nu=0.35).K / 1e9, 3)
    3.889
    """

    E: float
    nu: float

    @property
    def K(self) -> float:
        """Bulk modulus [Pa]."""
        return self.E / (3.0 * (1.0 - 2.0 * self.nu))

    @property
    def G(self) -> float:
        """Shear modulus [Pa]."""
        return self.E / (2.0 * (1.0 + self.nu))


def from_bulk_and_shear(K: float, G: float) -> Elastic:
    """Young's modulus and Poisson's ratio from bulk and shear modulus [Pa].

    Examples
    --------
    >>> quartz = from_bulk_and_shear(37e9, 44e9)
    >>> round(quartz.E / 1e9, 3), round(quartz.nu, 4)
    (94.529, 0.0742)
    """
    if K + G == 0.0:
        return Elastic(E=0.0, nu=0.25)
    return Elastic(E=9.0 * K * G / (3.0 * K + G), nu=(3.0 * K - 2.0 * G) / (2.0 * (3.0 * K + G)))


QUARTZ = from_bulk_and_shear(37e9, 44e9)
"""Quartz mineral: K 37 GPa, G 44 GPa; G. Mavko, T. Mukerji, J. Dvorkin, The Rock Physics Handbook."""
STONE = Elastic(E=70e9, nu=0.2)
"""A sound stone grain, from memory."""
RESIN = Elastic(E=3.2e9, nu=0.36)
"""Room-temperature laminating epoxy, from memory."""
