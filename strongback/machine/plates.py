"""Plates of a member as their owner knows them: a cap on its end, a foot on bolts, diaphragms inside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from strongback import checks
from strongback.errors import MachineError
from strongback.machine.body.values import Bed, DiaphragmSpec, PlateSpec
from strongback.materials import Material
from strongback.section.values import Point2, Ring

__all__ = ["BOLTED", "Diaphragm", "EndPlate", "PlateJoint", "diaphragm_spec", "plate_spec"]

PlateJoint: TypeAlias = Literal["welded", "glued", "screwed"]
# Under a screw two faces are pressed together: stiffer than any plate beside it, so that the value does not matter.
BOLTED = 1e15  # [N/m³]


@dataclass(frozen=True, slots=True, kw_only=True)
class EndPlate:
    """A plate on an end of a member whose walls can give.

    Parameters
    ----------
    thickness : float
        [m]
    material : Material
    joint : {"welded", "glued", "screwed"}
        How the walls are joined to it. A foot is welded or glued to the walls; its screws are the bolts on which it stands.
    glue : Material, optional
        Of a glued plate.
    layer : float
        Thickness of the glue [m].
    screws : tuple of (x, y)
        In the drawing of the section [m].
    pressed : float
        Side of the square that a screw presses together, about twice its diameter [m].
    size : tuple of float, optional
        Of a rectangular plate, across x and y; the outer edge of the walls without one [m].
    centre : tuple of float
        Of the rectangle in the drawing of the section [m].
    """

    thickness: float
    material: Material
    joint: PlateJoint = "welded"
    glue: Material | None = None
    layer: float = 2e-4
    screws: tuple[Point2, ...] = ()
    pressed: float = 0.0
    size: Point2 | None = None
    centre: Point2 = (0.0, 0.0)

    def __post_init__(self) -> None:
        where = "plate on an end"
        checks.one_of(where, "joint", self.joint, checks.words_of(PlateJoint))
        for name in ("thickness", "layer"):
            if not checks.number(where, name, getattr(self, name)) > 0.0:
                raise MachineError(f"{where}: {name} must be above 0")
        if self.joint == "glued" and self.glue is None:
            raise MachineError(f"{where}: a glued plate needs its glue", hint="name a material")
        if self.joint == "screwed" and not self.screws:
            raise MachineError(f"{where}: a screwed plate needs its screws", hint="give their points")
        if self.screws and not self.pressed > 0.0:
            raise MachineError(
                f"{where}: pressed must be above 0",
                hint="the side of the square under a screw, about twice its diameter",
            )

    def squares(self) -> tuple[Ring, ...]:
        """What the screws press, in the drawing of the section [m]."""
        h = 0.5 * self.pressed
        return tuple(((x - h, y - h), (x + h, y - h), (x + h, y + h), (x - h, y + h)) for x, y in self.screws)


@dataclass(frozen=True, slots=True, kw_only=True)
class Diaphragm:
    """A plate inside the hollows of a member, joined to its walls all around.

    Parameters
    ----------
    at : float
        Distance of its middle from the start of the member [m].
    thickness : float
        [m]
    material : Material
    """

    at: float
    thickness: float
    material: Material

    def __post_init__(self) -> None:
        for name in ("at", "thickness"):
            if not checks.number("diaphragm", name, getattr(self, name)) > 0.0:
                raise MachineError(f"diaphragm: {name} must be above 0")


def plate_spec(plate: EndPlate, *, foot: bool) -> PlateSpec:
    """A plate as the body takes it.

    Parameters
    ----------
    plate : EndPlate
    foot : bool
        Whether its screws hold it to the ground.
    """
    pressed = Bed(normal=BOLTED, tangential=BOLTED, patches=plate.squares()) if plate.screws else None
    bed = (
        _glue(plate) if plate.joint == "glued" else pressed if plate.joint == "screwed" and not foot else None
    )
    ring: Ring = ()
    if plate.size is not None:
        (x, y), (a, b) = plate.centre, (0.5 * plate.size[0], 0.5 * plate.size[1])
        ring = ((x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b))
    return PlateSpec(
        thickness=plate.thickness,
        E=plate.material.E,
        nu=plate.material.nu,
        density=plate.material.density,
        ring=ring,
        bed=bed,
        bolts=pressed if foot else None,
    )


def _glue(plate: EndPlate) -> Bed:
    """A layer between stiff faces, which cannot shrink sideways."""
    assert plate.glue is not None
    E, nu = plate.glue.E, plate.glue.nu
    return Bed(
        normal=E * (1.0 - nu) / ((1.0 + nu) * (1.0 - 2.0 * nu)) / plate.layer,
        tangential=E / (2.0 * (1.0 + nu)) / plate.layer,
    )


def diaphragm_spec(diaphragm: Diaphragm) -> DiaphragmSpec:
    """A diaphragm as the body takes it."""
    own = diaphragm.material
    return DiaphragmSpec(
        s=diaphragm.at, thickness=diaphragm.thickness, E=own.E, nu=own.nu, density=own.density
    )
