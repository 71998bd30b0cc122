"""One-way analysis of variance: scatter within set-ups told apart from scatter between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Anova", "anova", "components", "pooled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Anova:
    """Sums of squares of grouped values.

    Parameters
    ----------
    between, within : float
        Sums of squares.
    between_degrees, within_degrees : int
    size : float
        Repeats in a group, averaged as the analysis of unequal groups asks for: (N - sum n² / N) / (groups - 1).
    """

    between: float
    within: float
    between_degrees: int
    within_degrees: int
    size: float

    @property
    def F(self) -> float:
        """Mean square between over mean square within."""
        return (self.between / self.between_degrees) / (self.within / self.within_degrees)

    @property
    def residual(self) -> float:
        """Standard deviation within groups."""
        return math.sqrt(self.within / self.within_degrees)


def anova(groups: Sequence[Sequence[float]]) -> Anova:
    """One-way analysis of variance.

    Parameters
    ----------
    groups : sequence of sequences of float
        Two or more groups, none empty.

    Returns
    -------
    Anova

    Examples
    --------
    >>> a = anova([[1.0, 2.0], [4.0, 5.0]])
    >>> a.between, a.within, a.F
    (9.0, 1.0, 18.0)
    """
    if len(groups) < 2 or any(len(g) == 0 for g in groups):
        raise ValueError("an analysis of variance needs two or more groups, none empty")
    # Taking off a value that is present keeps the digits of data with a large constant part.
    origin = groups[0][0]
    shifted = [[v - origin for v in g] for g in groups]
    n = sum(len(g) for g in shifted)
    mean = math.fsum(v for g in shifted for v in g) / n
    means = [math.fsum(g) / len(g) for g in shifted]
    return Anova(
        between=math.fsum(len(g) * (m - mean) ** 2 for g, m in zip(shifted, means, strict=True)),
        within=math.fsum((v - m) ** 2 for g, m in zip(shifted, means, strict=True) for v in g),
        between_degrees=len(groups) - 1,
        within_degrees=n - len(groups),
        size=(n - sum(len(g) ** 2 for g in groups) / n) / (len(groups) - 1),
    )


def pooled(tables: Sequence[Anova]) -> Anova | None:
    """Several analyses of the same kind of scatter taken together, or None where there is none.

    Sums of squares and degrees of freedom add; the size is averaged over the degrees of freedom between groups.
    """
    if not tables:
        return None
    between = sum(t.between_degrees for t in tables)
    return Anova(
        between=math.fsum(t.between for t in tables),
        within=math.fsum(t.within for t in tables),
        between_degrees=between,
        within_degrees=sum(t.within_degrees for t in tables),
        size=sum(t.size * t.between_degrees for t in tables) / between,
    )


def components(table: Anova) -> tuple[float, float]:
    """Standard deviation within groups and of the groups themselves.

    The second is zero where the groups differ no more than their repeats let expect.

    Parameters
    ----------
    table : Anova
        With repeats within groups.

    Returns
    -------
    within, between : float

    Examples
    --------
    >>> within, between = components(anova([[1.0, 2.0], [4.0, 5.0]]))
    >>> round(within, 4), round(between, 4)
    (0.7071, 2.0616)
    """
    within = table.within / table.within_degrees
    excess = (table.between / table.between_degrees - within) / table.size
    return math.sqrt(within), math.sqrt(max(excess, 0.0))
