"""A log of readings to fill in: every pull with the gauges worth reading under it, as many at once as there are dials."""

from __future__ import annotations

import math
from collections.abc import Sequence

from strongback.machine.values import Gauge, Machine, Pull

__all__ = ["REPEATS", "log_text", "rounds_of"]

REPEATS = 3
ALONG = 0.9  # cosine between a pull and a gauge that reads it directly
BESIDE = 0.05  # from the middle plane, beyond which a gauge shows a turn [m]
HEAD = (
    "pull",
    "gauge",
    "load [N]",
    "set-up",
    "repeat",
    "zero before [um]",
    "loaded [um]",
    "zero after [um]",
    "reference",
    "note",
)


def rounds_of(machine: Machine, dials: int) -> list[tuple[Pull, tuple[Gauge, ...]]]:
    """Pulls with the gauges that are read at once under them.

    A gauge is worth reading under a pull if it reads along it, or if it stands beside the middle, where a turn shows.

    Parameters
    ----------
    machine : Machine
    dials : int
        How many can be read at once.
    """
    found = []
    for pull in machine.pulls:
        chosen = [gauge for gauge in machine.gauges if _worth(pull, gauge)]
        found += [(pull, tuple(chosen[k : k + dials])) for k in range(0, len(chosen), dials)]
    return found


def _worth(pull: Pull, gauge: Gauge) -> bool:
    size = math.hypot(*pull.force) * math.hypot(*gauge.direction)
    if size == 0.0:
        return True  # a couple turns everything
    cosine = abs(sum(f * d for f, d in zip(pull.force, gauge.direction, strict=True))) / size
    beside = abs(gauge.at[0] - pull.at[0]) > BESIDE and pull.force[0] != 0.0
    return bool(cosine > ALONG or beside)


def log_text(machine: Machine, dials: int, state: Sequence[tuple[str, str]] = ()) -> str:
    """The log as a table with empty readings.

    Parameters
    ----------
    machine : Machine
    dials : int
    state : sequence of (str, str)
        How the machine stands, by part.
    """
    columns = [*HEAD[:-1], *(f"state {part}" for part, _ in state), HEAD[-1]]
    rows = [";".join(columns)]
    for number, (pull, gauges) in enumerate(rounds_of(machine, dials), 1):
        for gauge in gauges:
            for repeat in range(1, REPEATS + 1):
                size = math.hypot(*pull.force)
                own = [pull.name, gauge.name, f"{size:g}", str(repeat), "1", "", "", "", gauge.reference]
                own += [words for _, words in state] + [f"round {number}"]
                rows.append(";".join(own))
    return "\n".join(rows) + "\n"
