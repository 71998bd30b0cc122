"""Welded, glued and seamed: joints without bolts in one face, and plates held along a member."""

from __future__ import annotations

import math

import numpy as np

from strongback.errors import MachineError
from strongback.machine.joints.contact import FINISHES, Pair, contact_stiffness
from strongback.machine.joints.estimate import STEEL, JointStiffness, UsualPlay, between, cite, positive
from strongback.machine.joints.flange import HOLE, ring_radius
from strongback.machine.values import RIGID
from strongback.materials import Material

__all__ = [
    "composite_share",
    "glued_joint",
    "seam_screw",
    "slipped_screw",
    "stitched_thickness",
    "tailstock",
    "twist_share",
    "welded_on_a_plate",
]

# Plate with a stiff boss, its edge clamped: turn = beta M / (E t³) by width of the boss over the held width.
_BETA = ((0.1, 1.4), (0.2, 0.82), (60.0 / 220.0, 0.58), (0.3, 0.5), (0.4, 0.3), (0.5, 0.17))
RESTING = 3.0  # times softer when the plate only rests
GLUE = (2e9, 4e9)  # Young's modulus of a glue [Pa]
CONFINED = 1.3  # stiffer in a thin layer
GLUE_SHEAR = 2.73  # E / G
TAILSTOCK = ((30e6, 200e6), (5e4, 5e5))  # along [N/m], about [N m/rad]; common practice, no source


def welded_on_a_plate(
    thickness: float, column: float, held: float, plate: Material, *, clamped: bool = True
) -> JointStiffness:
    """A column welded on a base plate that gives beside the weld; only where the plate is not a member of its own.

    Parameters
    ----------
    thickness : float
        Of the plate [m].
    column : float
        Width of the column [m].
    held : float
        Width over which the plate is held, through the middle of the column [m].
    plate : Material
    clamped : bool
        Whether it is clamped at its holders or only rests on them, which is three times softer.

    Returns
    -------
    JointStiffness
        z along the column; rigid along all three and in twist.

    Raises
    ------
    MachineError
        If the column is wider than half of what holds the plate, or narrower than a tenth.

    Examples
    --------
    >>> from strongback.materials import material
    >>> weld = welded_on_a_plate(10e-3, 60e-3, 220e-3, material("steel"))
    >>> round(weld.best[3] / 1e5, 2)  # nod [1e5 N m/rad]
    3.62
    """
    for what, value in (("plate thickness", thickness), ("column width", column), ("held width", held)):
        positive(what, value)
    ratio = column / held
    if not _BETA[0][0] <= ratio <= _BETA[-1][0]:
        raise MachineError(
            f"a column {ratio:.2g} of the width over which its plate is held is beyond the table",
            hint="it holds from 0.1 to 0.5; make the plate a member",
        )
    known, beta = np.array(_BETA).T
    turn = math.exp(float(np.interp(ratio, known, np.log(beta))))
    about = plate.E * thickness**3 / turn / (1.0 if clamped else RESTING)
    six = (RIGID, RIGID, RIGID, about, about, RIGID)
    low, best, high = between(six, six, least=2.0)
    return JointStiffness(
        kind="welded_on_a_plate", low=low, best=best, high=high, source=cite("ROARK", guess="how it is held")
    )


def glued_joint(
    size: tuple[float, float], glue: float, *, modulus: tuple[float, float] = GLUE
) -> JointStiffness:
    """Faces glued all over, at the middle of the face.

    Parameters
    ----------
    size : tuple of float
        Along x and y [m].
    glue : float
        Thickness of the layer [m].
    modulus : tuple of float
        Lowest and highest of the glue [Pa].

    Returns
    -------
    JointStiffness
        x, y in the face, z out of it. Degreased and cured; a factor of 2 either way.
    """
    positive("size of the face", min(size))
    area = size[0] * size[1]
    about = area * size[1] ** 2 / 12.0, area * size[0] ** 2 / 12.0
    rows = []
    for E, confined in zip(modulus, (1.0, CONFINED), strict=True):
        kn = confined * positive("modulus", E, "Pa") / positive("glue thickness", glue)
        kt = E / GLUE_SHEAR / glue
        rows.append((kt * area, kt * area, kn * area, kn * about[0], kn * about[1], kt * sum(about)))
    low, best, high = between(rows[0], rows[1], least=2.0)
    return JointStiffness(
        kind="glued_joint", low=low, best=best, high=high, source=cite("STAT", guess="modulus of the glue")
    )


def slipped_screw(diameter: float, thickness: tuple[float, float], pair: Pair) -> float:
    """Stiffness in shear of one screw through two plates that have slipped [N/m].

    Parameters
    ----------
    diameter : float
        [m]
    thickness : tuple of float
        Of the two plates [m].
    pair : tuple of Material
        Of the two plates.

    Notes
    -----
    Huth, ASTM STP 927 (1986), bolted metal in single shear: a = 2/3, b = 3 (memory).
    """
    (t1, t2), (m1, m2) = thickness, pair
    shape = ((t1 + t2) / (2.0 * positive("screw diameter", diameter))) ** (2.0 / 3.0)
    sums = 1.0 / (t1 * m1.E) + 1.0 / (t2 * m2.E) + 0.5 / (t1 * STEEL) + 0.5 / (t2 * STEEL)
    return float(1.0 / (3.0 * shape * sums))


def seam_screw(
    diameter: float, thickness: tuple[float, float], preload: float, pair: Pair
) -> tuple[float, float, float]:
    """Slip stiffness of one tightened screw of a seam: low (slipped), best, high (friction holds) [N/m].

    Parameters
    ----------
    diameter : float
        [m]
    thickness : tuple of float
        Of the plate under the head and of the member [m].
    preload : float
        [N]
    pair : tuple of Material

    Returns
    -------
    tuple of float

    Notes
    -----
    Friction: tangential contact of milled faces over the ring under the head (Ito 2008, Table 6-10, as quoted).
    """
    radius = ring_radius(diameter, thickness[0])
    area = math.pi * (radius**2 - (HOLE * diameter) ** 2)
    stick = contact_stiffness(positive("preload", preload, "N") / area, FINISHES["milled"].Ct[1], 0.5) * area
    slip = slipped_screw(diameter, thickness, pair)
    low, high = min(slip, stick), max(slip, stick)
    return low, math.sqrt(low * high), high


def composite_share(E: float, area: float, pitch: float, slip: float, length: float) -> float:
    """Share of a plate's own stretching that bends with its member, gamma = 1 / (1 + pi² E A s / (K L²)) [-].

    Parameters
    ----------
    E, area : float
        Of the plate [Pa], [m²].
    pitch : float
        Of its screws [m].
    slip : float
        Stiffness of one [N/m].
    length : float
        Of the span [m]; twice the height of a cantilever.

    Notes
    -----
    EN 1995-1-1, Annex B (memory).
    """
    return 1.0 / (1.0 + math.pi**2 * E * area * pitch / (slip * length**2))


def twist_share(wall: float, seams: int, pitch: float, slip: float) -> float:
    """Torsional stiffness of a tube with slipping seams over that of the closed one [-].

    Parameters
    ----------
    wall : float
        Integral of ds / (G t) around the closed tube [m/N].
    seams : int
    pitch, slip : float
        Of a seam's screws [m], and stiffness of one [N/m].
    """
    return wall / (wall + seams * pitch / slip)


def stitched_thickness(thickness: float, stitch: float, pitch: float) -> tuple[float, float]:
    """Thickness with which a stitch-welded wall counts between its stitches, lowest and highest [m].

    t l / s to t (l / s)^0.5: common practice, no source.
    """
    share = positive("stitch", stitch) / positive("pitch", pitch)
    return thickness * share, thickness * math.sqrt(share)


def tailstock() -> JointStiffness:
    """A tailstock clamped on its bed: 30 to 200 N/µm along, 5e4 to 5e5 N m/rad about; common practice, no source."""
    along, about = TAILSTOCK
    low, high = ((along[i],) * 3 + (about[i],) * 3 for i in (0, 1))
    ends = between(low, high)
    play = UsualPlay(component="along x", low=5e-6, high=30e-6, when="a barrel that is not clamped")
    return JointStiffness(
        kind="tailstock",
        low=ends[0],
        best=ends[1],
        high=ends[2],
        source=cite(guess="a tailstock clamped on its bed"),
        play=(play,),
    )
