"""Contact of flat machined faces: approach = C p^m, so that stiffness grows with pressure.

C is in the customary unit, µm for a pressure p in kgf/cm² to the power m. Source: data of Levina and Ostrovskii in Back's
arrangement, in Ito, Modular Design for Machine Tools, 2008, Tables 6-2 and 6-10.
"""

from __future__ import annotations

from dataclasses import dataclass

from strongback.errors import MachineError
from strongback.machine.joints.estimate import positive
from strongback.materials import Material

__all__ = [
    "FINISHES",
    "SLIDE_SHARE",
    "Finish",
    "Pair",
    "contact_stiffness",
    "equivalent_modulus",
    "finish_named",
    "pair_factor",
    "plane_modulus",
    "slide_stiffness",
]

Pair = tuple[Material, Material]

KGF_PER_CM2 = 98066.5  # [Pa]
IRON = (110e9, 0.27)  # E [Pa] and nu of the iron whose faces the tables are of
SOURCE = "Levina and Ostrovskii, in Ito, Modular Design for Machine Tools, 2008, Tables 6-2 and 6-10"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """How two faces were made.

    Parameters
    ----------
    name : str
    C : tuple of float
        Lowest and highest normal compliance constant [µm/(kgf/cm²)^m].
    m : float
    Ct : tuple of float
        The same for shear, with m = 0.5.
    """

    name: str
    C: tuple[float, float]
    m: float
    Ct: tuple[float, float]


FINISHES = {
    f.name: f
    for f in (
        Finish(name="scraped fine", C=(0.3, 0.5), m=0.5, Ct=(0.39, 0.65)),
        Finish(name="scraped", C=(0.8, 1.0), m=0.5, Ct=(1.0, 1.3)),
        Finish(name="ground", C=(0.6, 0.7), m=0.45, Ct=(0.8, 0.9)),
        # Coarse scraping (5 to 12 spots) stands in for milled or sawn faces, whose data the table lacks.
        Finish(name="milled", C=(1.3, 2.0), m=0.5, Ct=(1.3, 2.6)),
    )
}


def finish_named(name: str) -> Finish:
    """One of `FINISHES`.

    Raises
    ------
    MachineError
        If the finish is unknown.
    """
    if name not in FINISHES:
        raise MachineError(f'unknown finish "{name}"', hint="known: " + ", ".join(FINISHES))
    return FINISHES[name]


def plane_modulus(material: Material) -> float:
    """E / (1 - nu²) [Pa]."""
    return material.E / (1.0 - material.nu**2)


def equivalent_modulus(pair: Pair) -> float:
    """Modulus of two bodies in touch, 1/E_eq = 1/E1* + 1/E2* [Pa]."""
    return 1.0 / (1.0 / plane_modulus(pair[0]) + 1.0 / plane_modulus(pair[1]))


def pair_factor(pair: Pair) -> float:
    """Contact stiffness of a pair of materials over that of iron on iron, on which the tables were measured.

    Notes
    -----
    Xiao et al., Journal of Vibroengineering, 15 November 2014 (abstract): it goes with the equivalent modulus.
    """
    E, nu = IRON
    return equivalent_modulus(pair) / (0.5 * E / (1.0 - nu**2))


def contact_stiffness(pressure: float, C: float, m: float) -> float:
    """Stiffness per area of two flat faces: dp/d(approach) = p^(1-m) / (C m).

    Parameters
    ----------
    pressure : float
        Mean pressure between the faces [Pa].
    C : float
        Compliance constant [µm/(kgf/cm²)^m].
    m : float
        Exponent [-].

    Returns
    -------
    float
        [N/m³]

    Raises
    ------
    MachineError
        If a value is not above 0.

    Notes
    -----
    Ito, Modular Design for Machine Tools, 2008, Table 6-2.

    Examples
    --------
    >>> round(contact_stiffness(10 * 98066.5, 0.3, 0.5) / 1e9, 1)  # N/mm³, at 10 kgf/cm²
    2067.4
    """
    p = positive("pressure", pressure, "Pa") / KGF_PER_CM2
    positive("C", C, "µm")
    if not 0.0 < m <= 1.0:
        raise MachineError(f"exponent m = {m:g} must be above 0 and at most 1")
    return float(p ** (1.0 - m) / (C * m) * KGF_PER_CM2 / 1e-6)


# Compliance per area of slideways below 3 kgf/cm² by width of the way [m]: lowest and highest, [µm cm²/kgf].
_BY_WIDTH = ((0.05, (0.5, 0.7)), (0.1, (1.0, 1.0)), (0.2, (2.0, 2.5)), (0.3, (3.2, 3.2)), (0.4, (4.0, 4.0)))
_VERTICAL = (1.3, 1.4)  # ways that run up and down are this much more compliant (same table)
_LOCKED = (0.5, 0.6)  # what is left of the compliance above 3 to 4 kgf/cm², as under a lock (same table)
SLIDE_SHARE = (0.1, 0.4)  # of oiled faces, tangential over normal stiffness (common practice, no source)


def slide_stiffness(width: float, *, vertical: bool = False, locked: bool = False) -> tuple[float, float]:
    """Range of the stiffness per area of a slideway of iron.

    Parameters
    ----------
    width : float
        Of the way [m].
    vertical : bool
        Whether it runs up and down.
    locked : bool
        Whether a lock presses it to more than 3 kgf/cm².

    Returns
    -------
    tuple of float
        Lowest and highest [N/m³].

    Raises
    ------
    MachineError
        If the way is wider than the table.

    Notes
    -----
    Levina, in Ito, Modular Design for Machine Tools, 2008, Table 6-7.

    Examples
    --------
    >>> [round(k / 1e9, 2) for k in slide_stiffness(0.08)]  # N/mm³ for 1.0 µm cm²/kgf
    [98.07, 98.07]
    """
    positive("width of the way", width)
    for limit, (low, high) in _BY_WIDTH:
        if width < limit:
            softer, stiffer = (_VERTICAL[1], _VERTICAL[0]) if vertical else (1.0, 1.0)
            held = (_LOCKED[1], _LOCKED[0]) if locked else (1.0, 1.0)
            return (
                KGF_PER_CM2 / (high * softer * held[0] * 1e-6),
                KGF_PER_CM2 / (low * stiffer * held[1] * 1e-6),
            )
    raise MachineError(f"a way {width * 1e3:g} mm wide is beyond the table (400 mm)")
