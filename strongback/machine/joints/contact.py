"""Contact of flat machined faces: approach = C p^m, so that stiffness grows with pressure.

C is in the customary unit, µm for a pressure p in kgf/cm² to the power m. Source: data of Levina and Ostrovskii in Back's
arrangement, in Ito, Modular Design for Machine Tools, 2008, Tables 6-2 and 6-10.
"""

from __future__ import annotations

from dataclasses import dataclass

from strongback.errors import MachineError
from strongback.machine.joints.starting import positive

__all__ = ["FINISHES", "Finish", "contact_stiffness"]

KGF_PER_CM2 = 98066.5  # [Pa]
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
