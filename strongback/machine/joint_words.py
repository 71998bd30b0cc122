"""The joints of a machine by the motions that the operator sees: how stiff each is along and about."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from strongback.answer import HIDDEN, Telling, Told
from strongback.machine.joints.words import Triple, in_words
from strongback.machine.pad_contact import joints_of_beams
from strongback.machine.part.kinds import body_names
from strongback.machine.values import Machine

__all__ = ["JointWords", "joint_words"]

RIGID_WORD = "rigid"  # in place of an infinite stiffness, which JSON has not


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointWords(Told):
    """A joint or support by the room's words.

    Parameters
    ----------
    name : str
    kind : {"joint", "support"}
    words : mapping of str to tuple of float
        Low, best and high by word [N/m] and [N m/rad].
    source : str
    """

    TOLD: ClassVar[Telling] = (("stiffness", "best"), ("low", "low"), ("high", "high"))

    name: str
    kind: str
    words: Mapping[str, Triple] = field(metadata=HIDDEN)
    source: str

    @property
    def low(self) -> dict[str, float | str]:
        """Low end by word, with underscores; ``"rigid"`` for what is."""
        return self._one(0)

    @property
    def best(self) -> dict[str, float | str]:
        """The same of what is taken."""
        return self._one(1)

    @property
    def high(self) -> dict[str, float | str]:
        """The same of the high end."""
        return self._one(2)

    def _one(self, index: int) -> dict[str, float | str]:
        return {
            word.replace(" ", "_"): RIGID_WORD if math.isinf(values[index]) else values[index]
            for word, values in self.words.items()
        }


def joint_words(machine: Machine) -> tuple[JointWords, ...]:
    """Every joint and support in words; a joint on a body with the contact that its pad holds.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    tuple of JointWords
    """
    whole = dataclasses.replace(machine, joints=joints_of_beams(machine, body_names(machine)))
    return tuple(
        JointWords(name=h.name, kind=kind, words=in_words(h, machine.operator), source=h.source)
        for kind, h in whole.holders()
    )
