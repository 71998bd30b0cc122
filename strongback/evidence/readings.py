"""Dial readings as they were logged. Nothing here knows a machine: pulls, gauges and bodies are names."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from strongback import checks
from strongback.answer import Telling
from strongback.errors import ReadingsError
from strongback.evidence.uncertainty import Uncertainty

__all__ = [
    "Campaign",
    "Instrument",
    "Linearity",
    "Measured",
    "Reading",
    "Scatter",
    "SetAside",
    "State",
    "StateDifference",
    "state_differences",
]

State = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One row of the log: zero, load, zero.

    Parameters
    ----------
    pull, gauge : str
        Names of the load case and of the gauge.
    load : float
        Along the pull; negative when reversed [N, or N m for a couple].
    loaded : float
        Indication under load [m].
    zero_before, zero_after : float
        Indications without load [m]. Without a second zero the first is repeated.
    reference : str
        Body that carries the stand.
    angle : float
        Between the cord and the direction meant [rad].
    state : State
        Gib, lock, quill, table and the like: field and value.
    set_up : str
        Changes each time the stand was taken off and put back.
    repeat : int
    branch : {"", "up", "down"}
        Whether the load was approached from below or from above.
    row : int
        Line of the table, for messages.
    """

    pull: str
    gauge: str
    load: float
    loaded: float
    zero_before: float = 0.0
    zero_after: float | None = None
    reference: str = ""
    angle: float = 0.0
    state: State = ()
    set_up: str = "1"
    repeat: int = 1
    branch: str = ""
    row: int = 0

    def __post_init__(self) -> None:
        where = f'reading of "{self.gauge}" under "{self.pull}"'
        checks.one_of(where, "branch", self.branch, ("", "up", "down"), ReadingsError)
        for key in ("load", "loaded", "zero_before", "angle"):
            checks.frozen(self, **{key: checks.number(where, key, getattr(self, key), ReadingsError)})
        if self.zero_after is not None:
            checks.frozen(self, zero_after=checks.number(where, "zero_after", self.zero_after, ReadingsError))

    @property
    def value(self) -> float:
        """Deflection, freed of a zero that moved evenly between its two indications [m].

        Examples
        --------
        >>> r = Reading(pull="x", gauge="top", load=100.0, zero_before=0.0, loaded=21e-6, zero_after=2e-6)
        >>> round(r.value * 1e6, 6), round(r.closure * 1e6, 6)
        (20.0, 2.0)
        """
        return self.loaded - 0.5 * (self.zero_before + self._zero_after)

    @property
    def closure(self) -> float:
        """Zero after less zero before: drift, and what the machine keeps of the load [m]."""
        return self._zero_after - self.zero_before

    @property
    def _zero_after(self) -> float:
        return self.zero_before if self.zero_after is None else self.zero_after


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """What is known of gauge and load besides the readings.

    Parameters
    ----------
    resolution : float
        Smallest step of the scale [m].
    resolutions : mapping of str to float
        Of single gauges, where they differ [m].
    u_load : float
        Relative standard uncertainty of the load, the same for all readings of a data set: scale and free fall.
    u_angle : float
        Standard uncertainty of the direction of the cord [rad].
    u_point : float
        Standard uncertainty of the point of every pull along each axis [m].
    set_up : float
        Scatter between set-ups that is taken where no series was set up twice [m].
    set_up_degrees : float
        How well that is known; 8 stands for 25 % (JCGM 100, G.4.2).
    """

    resolution: float = 1e-6
    resolutions: Mapping[str, float] = field(default_factory=dict)
    u_load: float = 0.005
    u_angle: float = math.radians(1.0)
    u_point: float = 0.002
    set_up: float = 1e-6
    set_up_degrees: float = 8.0

    def step(self, gauge: str) -> float:
        """Resolution of a gauge [m]."""
        return self.resolutions.get(gauge, self.resolution)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """How far readings scatter, over all series of a data set.

    Parameters
    ----------
    reading : float
        Standard deviation of one reading about its set-up [m].
    set_up : float
        Standard deviation of set-ups [m]; holds the scatter of readings too where no set-up has repeats.
    reading_degrees, set_up_degrees : float
        Degrees of freedom; zero where nothing was repeated.
    assumed : bool
        Whether `set_up` was taken, not found.
    constant : float
        The part that readings of any size have [m].
    share : float
        The part that grows with the reading, over the reading.
    """

    ONLY: ClassVar[Telling] = (
        ("reading_m", "reading"),
        ("set_up_m", "set_up"),
        ("assumed", "assumed"),
    )

    reading: float
    set_up: float
    reading_degrees: float
    set_up_degrees: float
    assumed: bool
    constant: float = 0.0
    share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Linearity:
    """How the stiffness changes with the load.

    Parameters
    ----------
    low, high : float
        Smallest and largest load [N].
    change : float
        Compliance at `high` over that at `low`, less one: negative when it stiffens.
    u : float
        Standard uncertainty of `change`.
    t : float
        `change` over its uncertainty.
    clear : bool
        Whether it lies outside of what scatter explains at 95 %.
    """

    ONLY: ClassVar[Telling] = (
        ("low_N", "low"),
        ("high_N", "high"),
        ("change", "change"),
        ("u", "u"),
        ("clear", "clear"),
    )

    low: float
    high: float
    change: float
    u: float
    t: float
    clear: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """Rows that are shown but not used, and why."""

    rows: tuple[int, ...]
    what: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """All readings of one gauge under one pull, as one value.

    Parameters
    ----------
    pull, gauge, reference : str
    state : State
    load : float
        Largest load, to which `value` belongs [N].
    value : float
        Reading at `load` [m].
    uncertainty : Uncertainty
        Of `value` [m].
    repeats, set_ups : int
    closure : float
        Mean of zero after less zero before [m].
    loop_width : float or None
        Distance of the branches of unloading and loading [m]; None where it cannot be told from drift.
    linearity : Linearity or None
        None for a single load.
    flags : tuple of str
        What deserves a second look.
    rows : tuple of int
    slant : float
        Standard deviation of the direction of the pull in each plane through it [rad].
    """

    ONLY: ClassVar[Telling] = (
        ("pull", "pull"),
        ("gauge", "gauge"),
        ("reference", "reference"),
        ("state", "state", ()),
        ("load_N", "load"),
        ("value_m", "value"),
        ("u_m", "uncertainty.u"),
        ("degrees_of_freedom", "uncertainty.degrees"),
        ("low_m", "low"),
        ("high_m", "high"),
        ("contributions_m", "by_source"),
        ("repeats", "repeats"),
        ("set_ups", "set_ups"),
        ("zero_shift_m", "closure"),
        ("loop_width_m", "loop_width"),
        ("linearity", "linearity"),
        ("flags", "flags"),
        ("rows", "rows"),
    )

    pull: str
    gauge: str
    reference: str
    state: State
    load: float
    value: float
    uncertainty: Uncertainty
    repeats: int
    set_ups: int
    closure: float
    loop_width: float | None
    linearity: Linearity | None
    flags: tuple[str, ...]
    rows: tuple[int, ...]
    slant: float = 0.0

    @property
    def low(self) -> float:
        """Lower end of the interval of 95 % [m]."""
        return self.uncertainty.interval(self.value)[0]

    @property
    def high(self) -> float:
        """Upper end of the interval of 95 % [m]."""
        return self.uncertainty.interval(self.value)[1]

    @property
    def by_source(self) -> dict[str, float]:
        """Standard uncertainty by what it comes from [m]."""
        return {c.name: c.u for c in self.uncertainty.contributions}

    @property
    def compliance(self) -> float:
        """[m/N]"""
        return self.value / self.load

    @property
    def own_u(self) -> float:
        """Standard uncertainty without what all readings of the data set share [m]."""
        return math.sqrt(math.fsum(c.u**2 for c in self.uncertainty.contributions if not c.common))

    @property
    def key(self) -> tuple[str, str, str]:
        """Pull, gauge and reference: what a reading of another data set must share to be compared."""
        return self.pull, self.gauge, self.reference

    def __repr__(self) -> str:
        return (
            f"Measured({self.pull!r} at {self.gauge!r}: {self.value * 1e6:.3g} ± "
            f"{self.uncertainty.half_width() * 1e6:.2g} µm at {self.load:.4g} N)"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Campaign:
    """A data set, reduced.

    Parameters
    ----------
    name : str
    measured : tuple of Measured
    set_aside : tuple of SetAside
    scatter : Scatter
    warnings : tuple of str
    """

    name: str
    measured: tuple[Measured, ...]
    set_aside: tuple[SetAside, ...]
    scatter: Scatter
    warnings: tuple[str, ...] = ()

    def find(self, pull: str, gauge: str) -> Measured | None:
        """The value of a gauge under a pull, or None."""
        return next((m for m in self.measured if (m.pull, m.gauge) == (pull, gauge)), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class StateDifference:
    """A field of the state in which two data sets differ; empty where it was not noted."""

    field: str
    before: str
    after: str

    def __str__(self) -> str:
        before, after = self.before or "not noted", self.after or "not noted"
        return f'state "{self.field}" differs: {before} before, {after} after'


def state_differences(before: Iterable[Measured], after: Iterable[Measured]) -> tuple[StateDifference, ...]:
    """Fields of the state in which two data sets differ.

    Parameters
    ----------
    before, after : iterable of Measured

    Returns
    -------
    tuple of StateDifference
    """
    first, second = _fields(before), _fields(after)
    return tuple(
        StateDifference(
            field=name,
            before=" / ".join(first.get(name, ())),
            after=" / ".join(second.get(name, ())),
        )
        for name in dict.fromkeys((*first, *second))
        if sorted(first.get(name, ())) != sorted(second.get(name, ()))
    )


def _fields(measured: Iterable[Measured]) -> dict[str, Sequence[str]]:
    found: dict[str, list[str]] = {}
    for m in measured:
        for name, value in m.state:
            values = found.setdefault(name, [])
            if value not in values:
                values.append(value)
    return {name: tuple(values) for name, values in found.items()}
