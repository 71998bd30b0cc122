"""Columns whose walls give: a section extruded as three-dimensional elasticity, condensed once to its interfaces."""

from strongback.machine.body.condense import body_stiffness
from strongback.machine.body.spans import span_meshes
from strongback.machine.body.values import BodyStiffness, EndKind, PadSpec

__all__ = ["BodyStiffness", "EndKind", "PadSpec", "body_stiffness", "span_meshes"]
