"""Seams along which a part of a section may slip: as drawn in an outline, and as a stiffness of the solved section."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strongback import checks
from strongback.errors import OutlineError

__all__ = ["Seam", "Slip", "glue_line", "screwed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Walls that slip along the member on what they touch: a plate on screws, a glue line, a stitch weld.

    Across the member they stay in touch: a seam that opens is not this one.

    Parameters
    ----------
    name : str
    walls : tuple of str
        Walls of the outline that slip as one against everything else that they touch.
    stiffness : float
        Shear force per length of member and per slip, all strips of contact together [N/m²]; 0 slides freely.
    held : tuple of bool
        Whether these walls stand on what holds the start and the end of the member, where that end is held: in bending and
        axial force. Twist is solved as if they did; where they do not, a closed channel of 480 mm is 21 % softer in twist
        than said here (own bricks, 100 N/mm² on each flange).
    source : str
        Where the stiffness comes from.
    """

    name: str
    walls: tuple[str, ...]
    stiffness: float
    held: tuple[bool, bool] = (True, True)
    source: str = ""

    def __post_init__(self) -> None:
        where = f'seam "{checks.text("seam", "name", self.name, OutlineError)}"'
        walls = checks.each(where, "walls", self.walls, OutlineError)
        if not walls:
            raise OutlineError(f"{where}: it joins no wall", hint="name the walls that slip")
        held = checks.each(where, "held", self.held, OutlineError)
        if len(held) != 2 or not all(isinstance(h, bool) for h in held):
            raise OutlineError(f"{where}: held must be two of True and False", hint="for start and end")
        checks.frozen(
            self,
            walls=tuple(checks.text(where, "walls", wall, OutlineError) for wall in walls),
            stiffness=checks.number(
                where, "stiffness", self.stiffness, OutlineError, least=0.0, infinite=True
            ),
            held=held,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One more motion of a section: a part of it shifts along the member by s.

    Energy per length: ½ e' D e + s' (coupling . e) + ½ EA s'² + ½ stiffness s², D that of the section with the seam bonded
    and e its strains (Newmark, Siess & Viest, Proc. SESA 9 (1951) 75).

    Parameters
    ----------
    name : str
        Of the seam.
    coupling : tuple of float
        Forces N, Mx, My and the bimoment B of a unit rate s', at the origin of the drawing [N, N m, N m, N m²].
    EA : float
        Axial stiffness of the part that slips [N].
    stiffness : float
        Of the seam [N/m²], above 0.
    held : tuple of bool
        As in `Seam`.
    """

    name: str
    coupling: tuple[float, float, float, float]
    EA: float
    stiffness: float
    held: tuple[bool, bool] = (True, True)

    def __post_init__(self) -> None:
        where = f'slip "{checks.text("slip", "name", self.name, OutlineError)}"'
        checks.frozen(
            self,
            coupling=checks.numbers(where, "coupling", self.coupling, 4, OutlineError),
            EA=checks.number(where, "EA", self.EA, OutlineError, above=0.0),
            stiffness=checks.number(where, "stiffness", self.stiffness, OutlineError, above=0.0),
            held=(bool(self.held[0]), bool(self.held[1])),
        )


def screwed(slip_modulus: float, pitch: float, rows: int = 1) -> float:
    """Stiffness of a seam held by screws [N/m²].

    Parameters
    ----------
    slip_modulus : float
        Shear force per slip of one screw [N/m]: measure one. M4 in aluminium gives some 5e6 N/m (guess, no source).
    pitch : float
        Between screws of a row [m].
    rows : int
        Rows of screws that share the slip: two for a plate on both flanges of a channel.

    Returns
    -------
    float

    Raises
    ------
    OutlineError
        If a number is not above 0.

    Examples
    --------
    >>> screwed(8e6, 0.2)  # EN 1995-1-1 calls it K = slip modulus over spacing
    40000000.0
    """
    values = [
        checks.number("screws", name, v, OutlineError, above=0.0)
        for name, v in (("slip_modulus", slip_modulus), ("pitch", pitch), ("rows", rows))
    ]
    return values[0] / values[1] * values[2]


def glue_line(G: float, width: float, thickness: float) -> float:
    """Stiffness of a seam of glue or of a soft layer: G b / t [N/m²].

    Parameters
    ----------
    G : float
        Shear modulus of the layer [Pa]: for a viscoelastic one at its temperature and frequency.
    width, thickness : float
        Of all its strips together, and through the layer [m].

    Returns
    -------
    float

    Raises
    ------
    OutlineError
        If a number is not above 0.

    Examples
    --------
    >>> round(glue_line(1e9, 6e-3, 0.2e-3) / 1e9, 9)  # 30 GPa: as good as bonded
    30.0
    """
    values = [
        checks.number("layer", name, v, OutlineError, above=0.0)
        for name, v in (("G", G), ("width", width), ("thickness", thickness))
    ]
    found = values[0] * values[1] / values[2]
    return found if math.isfinite(found) else math.inf
