"""Materials by name, each with a range and a source, compared by value."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from importlib import resources
from typing import Any

from strongback import checks
from strongback.errors import MaterialError

__all__ = ["Material", "library", "material"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """An isotropic elastic material.

    Parameters
    ----------
    name : str
        What the trade calls it.
    E : float
        Young's modulus [Pa].
    nu : float
        Poisson's ratio [-].
    density : float
        [kg/m³]
    expansion : float
        Coefficient of linear thermal expansion [1/K].
    loss_factor : float
        Loss factor of the material itself [-].
    E_range : tuple of float
        Lowest and highest Young's modulus to be expected [Pa].
    source : str
        Where the figures come from.

    Raises
    ------
    MaterialError
        If a property is not finite or outside what an elastic solid can have.

    Examples
    --------
    >>> steel = Material(name="steel", E=210e9, nu=0.3, density=7850.0, source="EN 1993-1-1, 3.2.6")
    >>> round(steel.G / 1e9, 2)
    80.77
    """

    name: str
    E: float
    nu: float
    density: float
    expansion: float = 0.0
    loss_factor: float = 0.0
    E_range: tuple[float, float] | None = None
    source: str

    def __post_init__(self) -> None:
        checks.text("material", "name", self.name, MaterialError)
        where = f'material "{self.name}"'
        for key in ("E", "nu", "density", "expansion", "loss_factor"):
            checks.frozen(self, **{key: checks.number(where, key, getattr(self, key), MaterialError)})
        if self.E_range is not None:
            hint = "lowest and highest Young's modulus [Pa]"
            limits = checks.numbers(where, "E_range", self.E_range, 2, MaterialError, above=0.0, hint=hint)
            checks.frozen(self, E_range=limits)
        if self.E <= 0.0:
            raise MaterialError(
                f'material "{self.name}": E = {self.E:g} Pa must be above 0',
                hint='give Young\'s modulus, such as "70 GPa"',
            )
        if not -1.0 < self.nu < 0.5:
            raise MaterialError(f'material "{self.name}": nu = {self.nu:g} must be above -1 and below 0.5')
        if self.density < 0.0:
            raise MaterialError(
                f'material "{self.name}": density = {self.density:g} kg/m³ must not be negative'
            )

    @property
    def G(self) -> float:
        """Shear modulus [Pa]."""
        return self.E / (2.0 * (1.0 + self.nu))


@functools.cache
def library() -> dict[str, Material]:
    """The package's own table of materials.

    Returns
    -------
    dict of str to Material

    Examples
    --------
    >>> library()["aluminium 6060"].nu
    0.33
    """
    text = resources.files("strongback").joinpath("materials.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)["material"]
    return {row["name"]: _from_row(row) for row in table}


def _from_row(row: dict[str, Any]) -> Material:
    low, high = row["E_range"]
    return Material(
        name=str(row["name"]),
        E=float(row["E"]),
        nu=float(row["nu"]),
        density=float(row["density"]),
        expansion=float(row["expansion"]),
        loss_factor=float(row["loss_factor"]),
        E_range=(float(low), float(high)),
        source=str(row["source"]),
    )


def material(name: str, own: dict[str, Material] | None = None) -> Material:
    """Find a material by name.

    Parameters
    ----------
    name : str
        Name in the caller's own materials or in the table of the package.
    own : dict, optional
        The caller's own materials, searched first.

    Returns
    -------
    Material

    Raises
    ------
    MaterialError
        If there is none of that name.

    Examples
    --------
    >>> material("steel").E
    210000000000.0
    """
    known = {**library(), **(own or {})}
    if name in known:
        return known[name]
    raise MaterialError(
        f'unknown material "{name[:60]}"', hint=checks.nearest(name, sorted(known), cutoff=0.5)
    )
