"""Columns whose walls give: a section extruded as three-dimensional elasticity, condensed once to its interfaces."""

from strongback.machine.body.condense import body_stiffness
from strongback.machine.body.recover import BodyField, SectionCut, field, section_cut
from strongback.machine.body.spans import slips_of, span_meshes
from strongback.machine.body.values import BodySpec, BodyStiffness, EndKind, PadSpec, SlipSpec, cut_name

__all__ = [
    "BodyField",
    "BodySpec",
    "BodyStiffness",
    "EndKind",
    "PadSpec",
    "SectionCut",
    "SlipSpec",
    "body_stiffness",
    "cut_name",
    "field",
    "section_cut",
    "slips_of",
    "span_meshes",
]
