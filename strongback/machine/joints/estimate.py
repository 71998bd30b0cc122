"""What is known of a joint before it has been pulled at: six stiffnesses from low to high, usual play, source."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import resources

from strongback.errors import MachineError
from strongback.machine.values import FREE, RIGID, Six, Vector

__all__ = [
    "STEEL",
    "JointStiffness",
    "UsualPlay",
    "along_only",
    "between",
    "cite",
    "held_to",
    "positive",
    "series",
]

STEEL = 205e9  # Young's modulus of screws, shafts and levelling feet [Pa]


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualPlay:
    """Free motion that such a joint often has: something to ask for, never part of a stiffness.

    Parameters
    ----------
    component : str
        One of `strongback.machine.values.COMPONENTS`, in the axes of the joint.
    low, high : float
        From stop to stop [m].
    when : str
        Of which joints it holds, such as ``"a single nut without preload"``.
    """

    component: str
    low: float
    high: float
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JointStiffness:
    """Six springs with the range in which they are expected.

    Low and high hold about 95 % of such joints, two standard deviations of the logarithm either way; best is their
    geometric middle. Free components are 0 and rigid ones infinite in all three.

    Parameters
    ----------
    kind : str
        Name of the kind, as the project file writes it.
    low, best, high : Six
        Along x, y, z [N/m], about x, y, z [N m/rad], in the axes that the maker of the value states.
    source : str
        What was read, what is from memory, what is common practice.
    at : Vector
        Where the springs act, from the reference point that the maker states, in the axes of the joint [m].
    play : tuple of UsualPlay
    opens : str
        When and how it lets go; empty if it does not.
    notes : tuple of str
        Where these sizes leave what the formulas hold for.
    """

    kind: str
    low: Six
    best: Six
    high: Six
    source: str
    at: Vector = (0.0, 0.0, 0.0)
    play: tuple[UsualPlay, ...] = ()
    opens: str = ""
    notes: tuple[str, ...] = ()

    def __repr__(self) -> str:
        rows = ", ".join(
            f"{b:.3g} ({a:.3g} to {c:.3g})" for b, a, c in zip(self.best, self.low, self.high, strict=True)
        )
        return f"JointStiffness({self.kind}: {rows} N/m, N m/rad; {self.source})"


def positive(what: str, value: float, unit: str = "m") -> float:
    """Refuse a dimension that is not above zero."""
    if not (math.isfinite(value) and value > 0.0):
        raise MachineError(f"{what} = {value:g} {unit} must be above 0")
    return value


def series(*stiffness: float) -> float:
    """Stiffness of springs one after the other.

    Examples
    --------
    >>> series(2.0, 2.0, float("inf"))
    1.0
    """
    if FREE in stiffness:
        return FREE
    give = sum(1.0 / k for k in stiffness)
    return RIGID if give == 0.0 else 1.0 / give


def between(low: Sequence[float], high: Sequence[float], *, least: float = 1.0) -> tuple[Six, Six, Six]:
    """Low, best and high of six components, with the range never narrower than a factor.

    Parameters
    ----------
    low, high : sequence of float
        Soft and stiff end.
    least : float
        Least ratio of best to low and of high to best.

    Returns
    -------
    tuple of Six
        Low, best (geometric middle), high.

    Examples
    --------
    >>> low, best, high = between((1.0,) * 6, (4.0,) * 6, least=3.0)
    >>> round(low[0], 3), best[0], high[0]
    (0.667, 2.0, 6.0)
    """
    best = [math.sqrt(a) * math.sqrt(b) for a, b in zip(low, high, strict=True)]
    soft = [a if math.isinf(m) else min(a, m / least) for a, m in zip(low, best, strict=True)]
    stiff = [max(b, m * least) for b, m in zip(high, best, strict=True)]
    return _six(soft), _six(best), _six(stiff)


def _six(values: Iterable[float]) -> Six:
    a, b, c, d, e, f = (float(v) for v in values)
    return a, b, c, d, e, f


def along_only(stiffness: float) -> Six:
    """A spring along y alone, as a screw along its slide."""
    return FREE, stiffness, FREE, FREE, FREE, FREE


def held_to(ends: tuple[float, float], what: str) -> tuple[float, float]:
    """Refuse a range that does not rise from above zero."""
    low, high = ends
    if not 0.0 < low <= high < math.inf:
        raise MachineError(f"{what}: a range must rise from above 0, the lowest first")
    return ends


@functools.cache
def _sources() -> dict[str, dict[str, str]]:
    text = resources.files("strongback.machine.joints").joinpath("sources.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def cite(*keys: str, guess: str = "") -> str:
    """Sources in one line, each with how it is known, and what is guessed.

    Parameters
    ----------
    *keys : str
        Of ``sources.toml``.
    guess : str
        What has no source.

    Examples
    --------
    >>> cite("VDI", "STAT", guess="half of the ring in touch")
    'VDI 2230-1 (memory); statics (derived); common practice, no source: half of the ring in touch'
    """
    found = [_sources()[key] for key in keys]
    words = [f"{row['short']} ({row['known']})" for row in found]
    return "; ".join(words + ([f"common practice, no source: {guess}"] if guess else []))
