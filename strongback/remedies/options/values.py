"""An option: one thing that can be done about a machine, what it costs and what it takes away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from strongback import checks
from strongback.change.values import Change, applied
from strongback.machine.values import Machine

__all__ = ["Make", "Option", "with_options"]

Make: TypeAlias = Callable[[Machine], Change]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One thing that can be done about a machine.

    Parameters
    ----------
    name : str
    make : callable
        From a machine to the change of it.
    changes : str
        What it changes, in words.
    cost : float
        Material and bought work [euro], a guess to be replaced by a price.
    hours : float
        Of one's own work [h].
    mass : float
        Added beyond what the change itself says of sections and masses [kg]; below 0 for a part taken away.
    moving : bool
        Whether that mass travels with the head or the table.
    reversible : bool
    blocks : tuple of str
        What can no longer be done, in words.
    excludes : tuple of str
        Options that are not chosen together with it.
    hazard : str
        Caution; the sheets of makers and local rules come first.
    source : str
    stiffens : bool
        False for mass, damping or process only: no gain is shown for them.
    """

    name: str
    make: Make
    changes: str
    cost: float
    hours: float
    mass: float = 0.0
    moving: bool = False
    reversible: bool = True
    blocks: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    hazard: str = ""
    source: str = "common practice, no source"
    stiffens: bool = True

    def __post_init__(self) -> None:
        where = f'option "{checks.text("option", "name", self.name)}"'
        checks.frozen(
            self,
            cost=checks.number(where, "cost", self.cost, least=0.0),
            hours=checks.number(where, "hours", self.hours, least=0.0),
            mass=checks.number(where, "mass", self.mass),
        )

    def on(self, machine: Machine) -> Machine:
        """The machine with it.

        Raises
        ------
        MachineError
            If the machine has nothing that it could change.
        """
        return applied(machine, self.make(machine))


def with_options(machine: Machine, options: tuple[Option, ...]) -> Machine:
    """The machine with some options, one after the other.

    Parameters
    ----------
    machine : Machine
    options : tuple of Option

    Returns
    -------
    Machine
    """
    for option in options:
        machine = option.on(machine)
    return machine
