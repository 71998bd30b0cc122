"""What no beam has: the walls give under the head. The machine with bodies beside the same machine with beams.

The budget of the machine with bodies lists for each of them the rows of its beam, from the beam solution, what the faces
under its pads give as *pad contact*, and the rest as *wall flex*: what the walls give beyond their beam. Where forces can
choose their way in the loop the rest holds that choice, too.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, told
from strongback.machine.budget import BODY, PAD_CONTACT, Budget, BudgetRow, budget
from strongback.machine.loop import Loop
from strongback.machine.prestate import Prestate
from strongback.machine.values import Pull, Vector

__all__ = ["WALL_FLEX", "ModelComparison", "budget_with_walls", "compare_models"]

Array = NDArray[np.float64]
WALL_FLEX = "wall flex"


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelComparison:
    """Deflection of the tool by beams and by bodies.

    Parameters
    ----------
    pull : str
    beam, body : float
        Along the direction of the budget [m].
    wall_flex, pad_contact : float
        Sum of the rows of those names [m].
    """

    pull: str = field(metadata=HIDDEN)
    beam: float = field(metadata=told("beam_m"))
    body: float = field(metadata=told("body_m"))
    wall_flex: float = field(metadata=told("wall_flex_m"))
    pad_contact: float = field(metadata=told("pad_contact_m"))

    @property
    def ratio(self) -> float:
        """Body over beam [-]."""
        return self.body / self.beam if self.beam else float("nan")


def budget_with_walls(
    beams: Loop,
    bodies: Loop,
    pull: Pull,
    direction: Vector | None = None,
    *,
    before: tuple[Prestate, Prestate] | None = None,
) -> Budget:
    """Budget of a machine with bodies, with their beams and wall flex as rows.

    Parameters
    ----------
    beams : Loop
        The machine with every member a beam.
    bodies : Loop
        The same machine with its bodies.
    pull : Pull
    direction : Vector, optional
        As in `budget`.
    before : tuple of Prestate, optional
        What acts beside the pull, of the loops of beams and of bodies.

    Returns
    -------
    Budget
        Rows add to the deflection of the machine with bodies.
    """
    of_beams, of_bodies = before or (None, None)
    whole = budget(bodies, pull, direction, before=of_bodies)
    as_beams = budget(beams, pull, whole.direction, before=of_beams)
    rows: list[BudgetRow] = []
    for row in whole.rows:
        if row.mechanism == BODY:
            rows += _body_rows(row, as_beams, whole.total)
        elif row.mechanism == PAD_CONTACT:
            rows.append(replace(row, kind="wall"))
        else:
            rows.append(row)
    return replace(whole, rows=tuple(sorted(rows, key=lambda r: -abs(r.contribution))))


def _body_rows(row: BudgetRow, as_beams: Budget, total: float) -> list[BudgetRow]:
    """The rows of the beam, and the difference."""
    own = [r for r in as_beams.rows if r.part == row.part and r.kind == "member"]
    scale = total if total else 1.0
    rows = [replace(r, share=r.contribution / scale) for r in own]
    rest = row.contribution - sum(r.contribution for r in own)
    rows.append(
        BudgetRow(part=row.part, kind="wall", mechanism=WALL_FLEX, contribution=rest, share=rest / scale)
    )
    return rows


def compare_models(
    beams: Loop,
    bodies: Loop,
    pull: Pull,
    direction: Vector | None = None,
    *,
    before: tuple[Prestate, Prestate] | None = None,
) -> ModelComparison:
    """Deflection of the tool by beams and by bodies, side by side.

    Parameters
    ----------
    beams, bodies : Loop
    pull : Pull
    direction : Vector, optional
    before : tuple of Prestate, optional
        As in `budget_with_walls`.

    Returns
    -------
    ModelComparison
    """
    whole = budget_with_walls(beams, bodies, pull, direction, before=before)
    as_beams = budget(beams, pull, whole.direction, before=before[0] if before else None)
    flex, contact = (
        sum(row.contribution for row in whole.rows if row.mechanism == name)
        for name in (WALL_FLEX, PAD_CONTACT)
    )
    return ModelComparison(
        pull=pull.name, beam=as_beams.total, body=whole.total, wall_flex=flex, pad_contact=contact
    )
