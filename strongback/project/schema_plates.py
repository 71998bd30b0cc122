"""The plates of a member, key by key, with the words that docs/file.md prints for them."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from strongback.project.quantities import Length, Name, Point2, quantity, vector
from strongback.project.tables import LengthTable

__all__ = ["Cap", "DiaphragmTable", "FootTable", "PlateTable"]

MOST_SCREWS = 40
Thickness = Annotated[float, quantity("length", above=0.0, below=1.0)]


class _AnyPlate(LengthTable):
    thickness: Annotated[Thickness, Field(description="of the plate")]
    material: Annotated[
        Name | None, Field(description="name of a material; that of the walls without one")
    ] = None
    glue: Annotated[Name | None, Field(description="material of the glue of a glued plate")] = None
    layer: Annotated[Thickness, Field(description="thickness of the glue, 0.2 mm without it")] = 2e-4
    screws: Annotated[
        list[Point2],
        Field(
            default_factory=list,
            max_length=MOST_SCREWS,
            description="points of the screws in the drawing of the section",
        ),
    ]
    pressed: Annotated[
        float | None,
        quantity("length", above=0.0, below=1.0),
        Field(description="side of the square that a screw presses together, about twice its diameter"),
    ] = None
    size: Annotated[
        tuple[float, float] | None,
        vector("length", 2, above=0.0),
        Field(description="of a rectangular plate across x and y; the outer edge of the walls without one"),
    ] = None
    centre: Annotated[Point2, Field(description="middle of the rectangle in the drawing of the section")] = (
        0.0,
        0.0,
    )


class PlateTable(_AnyPlate):
    """``[member.cap]``: a plate on the end of a member whose walls can give."""

    joint: Annotated[
        Literal["welded", "glued", "screwed"],
        Field(description='"welded", "glued" or "screwed" to the walls'),
    ] = "welded"


class FootTable(_AnyPlate):
    """``[member.foot]``: a plate under the start of a member, which stands on its screws."""

    joint: Annotated[Literal["welded", "glued"], Field(description='"welded" or "glued" to the walls')] = (
        "welded"
    )


def _as_plate(value: Any) -> Any:
    return value if isinstance(value, dict) or value is None else {"thickness": value}


Cap = Annotated[PlateTable | None, BeforeValidator(_as_plate)]


class DiaphragmTable(LengthTable):
    """``[[member.diaphragm]]``: a plate inside the hollows, joined to the walls all around."""

    shares_unit: ClassVar[tuple[str, ...]] = ()
    at: Annotated[Length, Field(description="distance of its middle from the start of the member")]
    thickness: Annotated[Thickness, Field(description="of the plate")]
    material: Annotated[
        Name | None, Field(description="name of a material; that of the walls without one")
    ] = None
