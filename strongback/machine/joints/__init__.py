"""Stiffness of joints as people have them, before anybody has pulled at them.

Every kind of `library` is a range with its source, never a bare number: joints differ by a factor of three between two of
the same drawing, and only a pull test tells which one stands on the bench. `placed` puts a kind into a machine by what one
sees, `words` says its six stiffnesses in the operator's words.
"""

from strongback.machine.joints.contact import FINISHES, Finish, contact_stiffness
from strongback.machine.joints.preload import bolt_stiffness, clamped_stiffness, parting_load

__all__ = [
    "FINISHES",
    "Finish",
    "bolt_stiffness",
    "clamped_stiffness",
    "contact_stiffness",
    "parting_load",
]
