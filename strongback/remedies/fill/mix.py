"""All that a person knows of a fill: what is to be filled, bags, resin, tests, readings, wishes."""

from __future__ import annotations

from dataclasses import dataclass

from strongback.remedies.fill.bag import Bag
from strongback.remedies.fill.bar import Bar
from strongback.remedies.fill.elastic import STONE, Elastic
from strongback.remedies.fill.geometry import Rod, Sleeve
from strongback.remedies.fill.pour import Access
from strongback.remedies.fill.recipe import Resin
from strongback.remedies.fill.stage import Stage
from strongback.remedies.fill.voids import VoidTest

__all__ = ["BarTest", "Mix", "Staircase", "Target", "Workshop"]


EPOXY = Resin(name="epoxy")


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Grading wished for: curve by name, largest and smallest grain [m], exponent."""

    curve: str = "dinger-funk"
    largest: float = 4e-3
    smallest: float = 0.063e-3
    q: float = 0.37


@dataclass(frozen=True, slots=True, kw_only=True)
class BarTest:
    """A test bar and what was read on it.

    Parameters
    ----------
    name : str
    bar : Bar
    history : tuple of Stage
        What it went through from mixing to the test.
    span : float
        Of the bend test [m]; 0 for none.
    forces, deflections : tuple of float
        [N, m]
    supports : float
        Give of supports and stand [m/N].
    resolution : float
        Of the gauge [m].
    frequency : float
        Of the tap [Hz]; 0 for none.
    """

    name: str
    bar: Bar
    history: tuple[Stage, ...]
    span: float = 0.0
    forces: tuple[float, ...] = ()
    deflections: tuple[float, ...] = ()
    supports: float = 0.0
    resolution: float = 1e-6
    frequency: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Staircase:
    """Loads of one sense and their readings on the filled machine [N, m]."""

    forces: tuple[float, ...]
    deflections: tuple[float, ...]
    wall_to_gauge: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """Temperatures [K] and heat loss of the place where the machine stands.

    Parameters
    ----------
    pour : float
        Of mix and machine at the pour.
    set_at : float
        At which the fill sets: the cure temperature.
    coldest, warmest : float
        Of the year.
    film : float
        Heat transfer from wall to air [W/(m² K)].
    """

    pour: float = 293.15
    set_at: float = 293.15
    coldest: float = 283.15
    warmest: float = 303.15
    film: float = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A fill as its maker describes it.

    Parameters
    ----------
    kind : str
        One of `other_fills.KINDS`.
    member : str
    cells : tuple of str
    low, high : float
        Along the member [m].
    bags : tuple of Bag
    shares : tuple of float
        Of the bags by mass, where they are chosen; empty to fit them to `target`.
    target : Target
    void_tests : tuple of VoidTest
        Of the blend as it will be used.
    resin : Resin
    grain : Elastic
        Of the grains themselves.
    grain_expansion : float
        [1/K]
    excess, loss : float
        Resin above the voids; what sticks to tools [-].
    air : tuple of float
        Air that stays in the mix and its standard uncertainty, volume fractions.
    mixer : float
        Largest load [kg].
    conductivity : float
        Of the mix [W/(m K)].
    bars : tuple of BarTest
    bond : tuple of float
        Least and greatest hold at the wall, 0 to 1.
    remake : float
        Standard deviation of ln stiffness of joints made again.
    workshop : Workshop
    sleeves : tuple of Sleeve
    rods : tuple of Rod
        Bars or tubes that the fill bonds in.
    access : tuple of Access
    staircase : Staircase or None
    filled_mass : float
        Mass of fill found by weighing the member before and after [kg]; 0 where it was not weighed.
    goals : tuple of (str, float)
        Ratio after over before that is wished for, by pull; "" for all.
    """

    member: str
    cells: tuple[str, ...]
    low: float
    high: float
    kind: str = "resin-bonded mineral"
    bags: tuple[Bag, ...] = ()
    shares: tuple[float, ...] = ()
    target: Target = Target()
    void_tests: tuple[VoidTest, ...] = ()
    resin: Resin = EPOXY
    grain: Elastic = STONE
    grain_expansion: float = 12e-6
    excess: float = 0.10
    loss: float = 0.05
    air: tuple[float, float] = (0.03, 0.015)
    mixer: float = 5.0
    conductivity: float = 1.0
    bars: tuple[BarTest, ...] = ()
    bond: tuple[float, float] = (0.5, 1.0)
    remake: float = 0.1
    workshop: Workshop = Workshop()
    sleeves: tuple[Sleeve, ...] = ()
    rods: tuple[Rod, ...] = ()
    access: tuple[Access, ...] = ()
    staircase: Staircase | None = None
    filled_mass: float = 0.0
    goals: tuple[tuple[str, float], ...] = ()
