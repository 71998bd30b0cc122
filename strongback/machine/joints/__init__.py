"""Starting stiffness of joints as people have them: bolted faces, slideways, spindles, feet.

Every result is a range with its source, never a bare number: joints differ by a factor of three between two of the same
drawing, and only a pull test tells which one stands on the bench.
"""

from strongback.machine.joints.bolted import Bolt, bolted_face
from strongback.machine.joints.contact import FINISHES, Finish, contact_stiffness
from strongback.machine.joints.feet import rubber_foot, screw_foot
from strongback.machine.joints.slideway import slideway
from strongback.machine.joints.spindle import spindle
from strongback.machine.joints.starting import StartingStiffness

__all__ = [
    "FINISHES",
    "Bolt",
    "Finish",
    "StartingStiffness",
    "bolted_face",
    "contact_stiffness",
    "rubber_foot",
    "screw_foot",
    "slideway",
    "spindle",
]
