"""Everything that can go wrong, one class per thing a caller may want to catch.

::

    StrongbackError
    ├── InputError               the input is wrong: exit code 3
    │   ├── ProjectError         faults in a project file, with line and column
    │   ├── ReadingsError        faults in a table of readings, with row and column
    │   ├── OutlineError         an outline that bounds no section
    │   ├── MaterialError        an unknown or impossible material
    │   ├── UnitError            a number without the right unit
    │   ├── MachineError         parts, joints or pulls that do not fit together
    │   ├── MixError             fill or mix data that contradict each other
    │   └── LimitError           larger than the tool accepts
    ├── SolveError               the input is legal, there is no answer: exit code 4
    │   ├── MechanismError       a part that is free to move
    │   ├── NotConvergedError    an iteration that did not settle
    │   ├── PrecisionError       an answer that rounding would decide
    │   └── MeshError            no mesh could be made
    ├── QuestionError            a question that names what is not there: exit code 2
    └── EnvironmentFault         something on this computer is missing: exit code 5

Each carries the facts as attributes and a message that says what is wrong, where, and what to do.
"""

from __future__ import annotations

__all__ = [
    "EnvironmentFault",
    "InputError",
    "LimitError",
    "MachineError",
    "MaterialError",
    "MechanismError",
    "MeshError",
    "MixError",
    "NotConvergedError",
    "OutlineError",
    "PrecisionError",
    "ProjectError",
    "QuestionError",
    "ReadingsError",
    "SolveError",
    "StrongbackError",
    "UnitError",
]


class StrongbackError(Exception):
    """Any fault this package reports on purpose.

    Parameters
    ----------
    message : str
        What is wrong and where.
    hint : str
        What to do about it; may be empty.

    Examples
    --------
    >>> import strongback as sb
    >>> try:
    ...     sb.material("steal")
    ... except sb.StrongbackError as error:
    ...     print(error.message, "-", error.hint)
    unknown material "steal" - did you mean "steel"?
    """

    exit_code = 70

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}\n   help: {self.hint}" if self.hint else self.message


class InputError(StrongbackError):
    """The input is wrong."""

    exit_code = 3


class ProjectError(InputError):
    """Faults in a project file or in a file that it names.

    Parameters
    ----------
    faults : tuple
        Each with source, line, column, message and hint, in file order; empty if the file could not be read at all.
    """

    def __init__(self, message: str, *, hint: str = "", faults: tuple[object, ...] = ()) -> None:
        super().__init__(message, hint=hint)
        self.faults = faults


class ReadingsError(InputError):
    """Faults in a table of readings."""


class OutlineError(InputError):
    """An outline that does not bound a section.

    Parameters
    ----------
    point : tuple of float, optional
        Where, in section coordinates [m].
    """

    def __init__(self, message: str, *, hint: str = "", point: tuple[float, float] | None = None) -> None:
        super().__init__(message, hint=hint)
        self.point = point


class MaterialError(InputError):
    """An unknown material or an impossible property."""


class UnitError(InputError):
    """A number without a unit, or with one of another dimension."""


class MachineError(InputError):
    """Parts, joints, pulls or gauges that do not fit together."""


class MixError(InputError):
    """Fill or mix data that contradict each other."""


class LimitError(InputError):
    """Larger than the tool accepts."""


class SolveError(StrongbackError):
    """The input is legal but has no answer."""

    exit_code = 4


class MechanismError(SolveError):
    """A part of the machine that is free to move.

    Parameters
    ----------
    part : str
        The part that moves.
    motion : str
        Its free motion in words.
    """

    def __init__(self, message: str, *, hint: str = "", part: str = "", motion: str = "") -> None:
        super().__init__(message, hint=hint)
        self.part = part
        self.motion = motion


class PrecisionError(SolveError):
    """An answer that rounding would decide, since stiffnesses lie too far apart.

    Parameters
    ----------
    owner, component : str
        Joint or support, and its component, behind it.
    """

    def __init__(self, message: str, *, hint: str = "", owner: str = "", component: str = "") -> None:
        super().__init__(message, hint=hint)
        self.owner = owner
        self.component = component


class NotConvergedError(SolveError):
    """An iteration that did not settle within its bound."""


class MeshError(SolveError):
    """No mesh could be made of a valid outline."""


class QuestionError(StrongbackError):
    """A question that names what is not there, or that does not go with what it is asked of.

    Examples
    --------
    >>> import strongback as sb
    >>> from strongback.machine.sample import post
    >>> try:
    ...     sb.deflect(post(), pull="sidewards")
    ... except sb.QuestionError as error:
    ...     print(error.message)
    there is no pull 'sidewards' (there are: sideways). Did you mean 'sideways'?
    """

    exit_code = 2


class EnvironmentFault(StrongbackError):
    """Something that this computer lacks."""

    exit_code = 5
