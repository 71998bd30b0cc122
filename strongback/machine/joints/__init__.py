"""Starting stiffness of joints as people have them: bolted faces, slideways, spindles, feet.

Every result is a range with its source, never a bare number: joints differ by a factor of three between two of the same
drawing, and only a pull test tells which one stands on the bench.
"""

from strongback.machine.joints.bolted import Bolt, bolted_face
from strongback.machine.joints.contact import FINISHES, Finish, contact_stiffness
from strongback.machine.joints.feet import rubber_foot, screw_foot
from strongback.machine.joints.preload import bolt_stiffness, clamped_stiffness, parting_load
from strongback.machine.joints.slideway import slideway
from strongback.machine.joints.spindle import spindle
from strongback.machine.joints.starting import StartingStiffness

__all__ = [
    "FINISHES",
    "Bolt",
    "Finish",
    "StartingStiffness",
    "bolt_stiffness",
    "bolted_face",
    "clamped_stiffness",
    "contact_stiffness",
    "parting_load",
    "rubber_foot",
    "screw_foot",
    "slideway",
    "spindle",
]
