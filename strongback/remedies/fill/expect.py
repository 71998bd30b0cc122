"""The modulus that a plan expects, and what that rests on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from strongback.answer import Telling
from strongback.errors import MixError
from strongback.remedies.fill import bar as bars
from strongback.remedies.fill.cure import CureFit, CureReading, fit_cure, from_pot_life
from strongback.remedies.fill.mix import BarTest, Mix
from strongback.remedies.fill.mixture import Mixture
from strongback.remedies.fill.modulus import (
    Elastic,
    MixModulus,
    ModulusSpread,
    mix_modulus,
    modulus_spread,
    voids_from_density,
)
from strongback.remedies.fill.other_fills import FillKind
from strongback.remedies.fill.voids import Estimate

__all__ = ["Expected", "expected_of", "expected_of_kind"]

BAR_TO_COLUMN = 0.10  # a column is compacted otherwise than a bar: judgement, no source
THEORY_LEAST = 0.25  # hand-cast bars spread about the lower bound by as much: judgement, no source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Expected:
    """Modulus to expect, and what it rests on.

    Parameters
    ----------
    theory : MixModulus or None
    spread : ModulusSpread or None
    tests : tuple of (str, BarModulus)
        By bar.
    air : tuple of (str, float)
        Of each bar that was weighed [-].
    cure : CureFit or None
    verdicts : tuple of (str, str)
        What each bar says for its age.
    E : float
        Final modulus [Pa].
    u_ln : float
        [-]
    nu : float
    basis : str
    """

    ONLY: ClassVar[Telling] = (
        ("E_Pa", "E"),
        ("E_low_Pa", "low"),
        ("E_high_Pa", "high"),
        ("nu", "nu"),
        ("basis", "basis"),
        ("lower_bound_Pa", "theory.lower.E"),
        ("upper_bound_Pa", "theory.upper.E"),
        ("bars", "tests", ("name", "*")),
        ("verdicts", "verdicts", ("name", "text")),
    )

    theory: MixModulus | None
    spread: ModulusSpread | None
    tests: tuple[tuple[str, bars.BarModulus], ...]
    air: tuple[tuple[str, float], ...]
    cure: CureFit | None
    verdicts: tuple[tuple[str, str], ...]
    E: float
    u_ln: float
    nu: float
    basis: str

    @property
    def low(self) -> float:
        """Lower end of `interval` [Pa]."""
        return self.interval()[0]

    @property
    def high(self) -> float:
        """Upper end of `interval` [Pa]."""
        return self.interval()[1]

    def interval(self) -> tuple[float, float]:
        """95 % interval of E [Pa]."""
        half = 1.959963984540054 * self.u_ln
        return self.E * math.exp(-half), self.E * math.exp(half)


def expected_of(mix: Mix, mixture: Mixture) -> Expected:
    """Modulus of a mix from its parts and from the bars cast of it."""
    matrix = Elastic(E=mix.resin.E, nu=mix.resin.nu)
    c = 1.0 - mixture.recipe.resin_volume_fraction
    u_c = mixture.voids.void_fraction.u if mixture.voids else 0.03
    theory = mix_modulus(matrix, mix.grain, c, mix.air[0])
    spread = modulus_spread(matrix, mix.grain, (c, u_c), mix.air)
    tests = tuple((test.name, result) for test in mix.bars for result in _tested(test, theory.default.nu))
    air = tuple(
        (test.name, voids_from_density(bars.density(test.bar)[0], mixture.recipe.density))
        for test in mix.bars
        if test.bar.mass is not None
    )
    u_theory = max(spread.u_ln, THEORY_LEAST)
    cure = _cure(mix, tests, (spread.median, u_theory)) if tests else None
    if cure is None:
        E, u_ln, basis = spread.median, u_theory, "lower bound with air; no test bar"
    else:
        E = cure.E_final
        u_ln = math.hypot(math.log(cure.interval[1] / cure.interval[0]) / (2 * 1.96), BAR_TO_COLUMN)
        basis = f"{len(tests)} test(s) on bars, carried to full cure"
    return Expected(
        theory=theory,
        spread=spread,
        tests=tests,
        air=air,
        cure=cure,
        verdicts=tuple(zip([r[0] for r in _readings(mix, tests)], _verdicts(mix, tests, cure), strict=True)),
        E=E,
        u_ln=u_ln,
        nu=theory.default.nu,
        basis=basis,
    )


def _tested(test: BarTest, nu: float) -> list[bars.BarModulus]:
    found = []
    if test.span > 0.0:
        found.append(
            bars.bend_modulus(
                test.bar,
                test.span,
                test.forces,
                test.deflections,
                supports=test.supports,
                nu=nu,
                resolution=test.resolution,
            )
        )
    if test.frequency > 0.0:
        found.append(bars.tap_modulus(test.bar, test.frequency, nu=nu))
    if not found:
        raise MixError(
            f'test bar "{test.name}": neither bent nor tapped', hint="give span, forces and readings, or tap"
        )
    return found


def _readings(mix: Mix, tests: Sequence[tuple[str, bars.BarModulus]]) -> list[tuple[str, CureReading]]:
    """One reading for each bar: its methods taken together."""
    found = []
    for test in mix.bars:
        own: Estimate = bars.combine([result for name, result in tests if name == test.name])
        found.append((test.name, CureReading(E=own.value, u=own.u, history=test.history)))
    return found


def _cure(mix: Mix, tests: Sequence[tuple[str, bars.BarModulus]], prior: tuple[float, float]) -> CureFit:
    start = from_pot_life(mix.resin.pot_life, mix.resin.pot_life_at)
    return fit_cure([reading for _, reading in _readings(mix, tests)], start, final=prior)


def _verdicts(mix: Mix, tests: Sequence[tuple[str, bars.BarModulus]], cure: CureFit | None) -> list[str]:
    return [cure.judge(reading) if cure else "" for _, reading in _readings(mix, tests)]


def expected_of_kind(kind: FillKind) -> Expected | None:
    """Modulus of another kind of fill from its range; None where it does not stiffen."""
    if kind.material is None:
        return None
    low, high = kind.material.E_range or (kind.material.E, kind.material.E)
    return Expected(
        theory=None,
        spread=None,
        tests=(),
        air=(),
        cure=None,
        verdicts=(),
        E=math.sqrt(low * high),
        u_ln=math.log(high / low) / (2 * 1.96),
        nu=kind.material.nu,
        basis=f"range of {kind.name}: {kind.source}",
    )
