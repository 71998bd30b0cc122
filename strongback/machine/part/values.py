"""What a machine is made of elastically, by name: the stiffness of its sections, its bodies condensed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from strongback.errors import MachineError
from strongback.machine.body.family import BodyFamily
from strongback.machine.body.values import BodyStiffness
from strongback.machine.values import Member
from strongback.section.values import SectionStiffness

__all__ = ["CONTACT", "WALL", "Parts", "contact_over_wall"]

WALL = "wall"  # factor on the stiffness of a body without the contact under its pads
CONTACT = "contact"  # factor on the contact under the pads of a body


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parts:
    """The elastic parts of a machine; handed over whole, so that no body turns into a beam in silence.

    Parameters
    ----------
    sections : mapping of str to SectionStiffness
        Of every section that a beam names; of the other members where their mass is asked for.
    bodies : mapping of str to BodyFamily
        Members that are bodies (see `kinds.kind_of`), by name.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> parts_of(machine)
    Parts(sections: bar; bodies: none)
    """

    sections: Mapping[str, SectionStiffness]
    bodies: Mapping[str, BodyFamily] = field(default_factory=dict)

    def body_of(self, member: Member) -> BodyStiffness:
        """The body of a member that is one, with the member's factors on wall and contact.

        Parameters
        ----------
        member : Member

        Returns
        -------
        BodyStiffness
            Walls as they were condensed: the loop multiplies walls and contact by the factor of the walls.

        Raises
        ------
        MachineError
            If these parts do not hold it, or hold it with another contact under its pads only.
        """
        if member.name not in self.bodies:
            raise MachineError(
                f'member "{member.name}" is a body, and these parts hold none of that name',
                hint='make them with parts_of(machine), or set model = "beam"',
            )
        family = self.bodies[member.name]
        contact = contact_over_wall(member) / family.meant
        if not family.varies and family.nominal.has_pads and not math.isclose(contact, 1.0, rel_tol=1e-9):
            raise MachineError(
                f'the pads of "{member.name}" were condensed with a contact of {1.0 / contact:.6g} times what is asked',
                hint="make the parts with parts_of(machine, contact=True)",
            )
        return family.at(contact)

    def with_sections(self, sections: Mapping[str, SectionStiffness]) -> Parts:
        """These parts with some sections put in or replaced.

        Parameters
        ----------
        sections : mapping of str to SectionStiffness
        """
        return dataclasses.replace(self, sections={**self.sections, **sections})

    def with_bodies(self, bodies: Mapping[str, BodyFamily]) -> Parts:
        """These parts with some bodies put in or replaced.

        Parameters
        ----------
        bodies : mapping of str to BodyFamily
        """
        return dataclasses.replace(self, bodies={**self.bodies, **bodies})

    def __repr__(self) -> str:
        return f"Parts(sections: {', '.join(self.sections)}; bodies: {', '.join(self.bodies) or 'none'})"


def contact_over_wall(member: Member) -> float:
    """How much stiffer the pads of a body are made: the loop multiplies walls and contact by the factor of the walls.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from strongback.machine.sample import post
    >>> contact_over_wall(replace(post().members[0], factors={"wall": 0.8, "contact": 0.4}))
    0.5
    """
    factors = dict(member.factors)
    return factors.get(CONTACT, 1.0) / factors.get(WALL, 1.0)


def alone(member: Member, body: BodyStiffness) -> BodyFamily:
    """A body that is known with the contact under its pads that the member has now, and no other."""
    return BodyFamily(bodies={1.0: body}, meant=contact_over_wall(member))
