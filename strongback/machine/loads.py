"""Frozen values of what acts on a machine beside a single pull: own weight, loads along members, warmth, settlements of
supports, preloads of rods, and cases and combinations of all of them. SI units, axes of the machine unless stated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

from strongback import checks
from strongback.errors import MachineError
from strongback.machine.values import Pull, Vector

__all__ = ["GRAVITY", "Combination", "LineLoad", "LoadCase", "Settlement", "Tightening", "Warming"]

GRAVITY: Vector = (0.0, 0.0, -9.80665)
"""Standard acceleration of free fall, downwards [m/s²]; ISO 80000-3."""
ZERO: Vector = (0.0, 0.0, 0.0)
WAYS = ("-z", "+z", "-y", "+y", "-x", "+x")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineLoad:
    """An even load along a member.

    Parameters
    ----------
    part : str
        A member that is a beam.
    force : Vector
        Per length [N/m].
    low, high : float, optional
        Where it starts and ends, from the start of the member; default: all along [m].
    offset : tuple of float
        Where it acts in the axes of the section's drawing [m].
    """

    part: str
    force: Vector
    low: float | None = None
    high: float | None = None
    offset: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        where = f'line load on "{checks.text("line load", "part", self.part)}"'
        checks.frozen(
            self,
            force=checks.numbers(where, "force", self.force, 3, hint="along x, y, z of the machine [N/m]"),
            offset=checks.numbers(where, "offset", self.offset, 2, hint="x, y of the section [m]"),
        )
        for name in ("low", "high"):
            value = getattr(self, name)
            if value is not None:
                checks.frozen(self, **{name: checks.number(where, name, value, least=0.0)})
        if self.low is not None and self.high is not None and not self.low < self.high:
            raise MachineError(f"{where}: low = {self.low:g} m is not below high = {self.high:g} m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Warming:
    """A part warmer than it was when the machine was true.

    Parameters
    ----------
    part : str
        A member or a block.
    rise : float
        At the origin of the section's drawing, or of the whole block [K].
    across : tuple of float
        How much warmer per length along x and y of the section: a fall from one side to the other [K/m].
    expansion : float, optional
        Coefficient of linear expansion [1/K]; default: that of the materials of the section. A block, and a section that
        is given by its stiffness, need it.
    """

    part: str
    rise: float = 0.0
    across: tuple[float, float] = (0.0, 0.0)
    expansion: float | None = None

    def __post_init__(self) -> None:
        where = f'warming of "{checks.text("warming", "part", self.part)}"'
        checks.frozen(
            self,
            rise=checks.number(where, "rise", self.rise),
            across=checks.numbers(where, "across", self.across, 2, hint="along x, y of the section [K/m]"),
        )
        if self.expansion is not None:
            checks.frozen(self, expansion=checks.number(where, "expansion", self.expansion))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """A support whose ground moves.

    Parameters
    ----------
    support : str
    displacement : Vector
        [m]
    rotation : Vector
        [rad]
    """

    support: str
    displacement: Vector = ZERO
    rotation: Vector = ZERO

    def __post_init__(self) -> None:
        where = f'settlement of "{checks.text("settlement", "support", self.support)}"'
        checks.frozen(
            self,
            displacement=checks.numbers(where, "displacement", self.displacement, 3, hint="x, y, z [m]"),
            rotation=checks.numbers(where, "rotation", self.rotation, 3, hint="about x, y, z [rad]"),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightening:
    """A rod that is tightened.

    Parameters
    ----------
    part : str
        The member that is the rod.
    force : float
        Its tension when all rods of the case are tightened and nothing else acts [N].
    """

    part: str
    force: float

    def __post_init__(self) -> None:
        where = f'tightening of "{checks.text("tightening", "part", self.part)}"'
        checks.frozen(self, force=checks.number(where, "force", self.force))


# Where a mapping stands in place of a list: what is made, the field of its key, and that of a value that is no mapping.
SHORT = {
    "lines": (LineLoad, "part", "force"),
    "warmings": (Warming, "part", "rise"),
    "settlements": (Settlement, "support", "displacement"),
    "tightenings": (Tightening, "part", "force"),
}


def _listed(where: str, name: str, value: object) -> object:
    """Loads from a mapping: by part or support, to the main figure of each or to all its fields."""
    if name not in SHORT or not isinstance(value, Mapping):
        return value
    kind, key, main = SHORT[name]
    made = []
    for part, what in value.items():
        given = dict(what) if isinstance(what, Mapping) else {main: what}
        known = [f.name for f in fields(kind) if f.name != key]
        for word in given:
            checks.one_of(where, f'what "{part}" of {name} is given', word, known)
        made.append(kind(**{key: part, **given}))
    return tuple(made)


def _gravity(where: str, value: object) -> tuple[float, ...]:
    """An acceleration, or the way that things fall."""
    if isinstance(value, str):
        word = checks.one_of(where, "gravity", value, WAYS)
        size = abs(GRAVITY[2]) * (-1.0 if word[0] == "-" else 1.0)
        return tuple(size if axis == word[1] else 0.0 for axis in "xyz")
    return checks.numbers(where, "gravity", value, 3, hint='along x, y, z [m/s²], or "-z"')


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """All that acts at once.

    Parameters
    ----------
    name : str
    pulls : tuple of Pull
        Any number, anywhere.
    lines : tuple of LineLoad, or mapping
        By part, to the force per length [N/m] or to the fields of a `LineLoad`.
    warmings : tuple of Warming, or mapping
        By part, to the rise [K] or to the fields of a `Warming`.
    settlements : tuple of Settlement, or mapping
        By support, to the displacement [m] or to the fields of a `Settlement`.
    tightenings : tuple of Tightening, or mapping
        By part, to the tension [N].
    gravity : Vector or str
        Acceleration that the masses of parts feel, such as `GRAVITY` [m/s²]; a word such as ``"-z"`` is standard free
        fall in that direction.

    Examples
    --------
    >>> LoadCase(name="own weight", gravity="-z").gravity == GRAVITY
    True
    >>> LoadCase(name="warm", warmings={"spindle": 15.0, "column": {"across": (0.0, 40.0)}}).warmings[0].rise
    15.0
    """

    name: str
    pulls: tuple[Pull, ...] = ()
    lines: tuple[LineLoad, ...] = ()
    warmings: tuple[Warming, ...] = ()
    settlements: tuple[Settlement, ...] = ()
    tightenings: tuple[Tightening, ...] = ()
    gravity: Vector = ZERO

    def __post_init__(self) -> None:
        where = f'case "{checks.text("case", "name", self.name)}"'
        for name, kind in (
            ("pulls", Pull),
            ("lines", LineLoad),
            ("warmings", Warming),
            ("settlements", Settlement),
            ("tightenings", Tightening),
        ):
            items = checks.each(where, name, _listed(where, name, getattr(self, name)))
            for i, item in enumerate(items):
                checks.instance(where, f"{name}[{i}]", item, kind)
            checks.frozen(self, **{name: items})
        checks.frozen(self, gravity=_gravity(where, self.gravity))


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """Several cases at once, each times a factor.

    Parameters
    ----------
    name : str
    terms : mapping of str to float, or pairs
        Factor of each case by its name. Kept as pairs.

    Examples
    --------
    >>> Combination(name="cutting while warm", terms={"cut": 1.5, "warm": 1.0}).terms
    (('cut', 1.5), ('warm', 1.0))
    """

    name: str
    terms: tuple[tuple[str, float], ...] = field(default=())

    def __post_init__(self) -> None:
        where = f'combination "{checks.text("combination", "name", self.name)}"'
        terms = checks.pairs(where, "terms", self.terms)
        checks.frozen(
            self, terms=tuple((case, checks.number(where, f'factor of "{case}"', f)) for case, f in terms)
        )
