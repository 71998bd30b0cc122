"""From logged readings to values with uncertainty: drift off, scatter pooled, every contribution named.

Scatter is pooled over all series of a data set (JCGM 100, 4.2.4): three repeats alone say little about their own scatter,
and repeats within one set-up say nothing about the next.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence

import numpy as np
from scipy.stats import f as fisher

from strongback.evidence.anova import Anova, components, pooled
from strongback.evidence.readings import (
    Campaign,
    Instrument,
    Linearity,
    Measured,
    Reading,
    Scatter,
    SetAside,
)
from strongback.evidence.two_part import TwoParts, two_parts
from strongback.evidence.uncertainty import Contribution, combine, resolution, student

__all__ = ["reduce"]

Series = list[Reading]
LEAST_STEPS = 5.0  # a reading below this many steps of the scale says little; common practice, no source
TELLING = (
    0.01  # readings at full load that the other set-ups are worth: with less they say nothing of set-ups
)
STEEP_CORD = math.radians(5.0)


def reduce(readings: Iterable[Reading], instrument: Instrument | None = None, *, name: str = "") -> Campaign:
    """Reduce a log to one value per pull and gauge.

    Parameters
    ----------
    readings : iterable of Reading
    instrument : Instrument, optional
    name : str
        Of the data set.

    Returns
    -------
    Campaign
        Rows that cannot be used are in ``set_aside`` with the reason; none is dropped silently.

    Examples
    --------
    >>> rows = [Reading(pull="x", gauge="top", load=100.0, loaded=v * 1e-6, set_up=s)
    ...         for s, v in [("1", 20.0), ("2", 22.0), ("3", 21.0)]]
    >>> m = reduce(rows).measured[0]
    >>> round(m.value * 1e6, 3), m.set_ups
    (21.0, 3)
    """
    instrument = instrument or Instrument()
    usable, aside, warnings = _usable(list(readings))
    series, contradictory = _series(usable, instrument)
    scatter = _scatter(series, instrument)
    parts = _two_parts(series, scatter)
    scatter = dataclasses.replace(scatter, constant=parts.constant, share=parts.share)
    warnings += _mixed_states(series)
    return Campaign(
        name=name,
        measured=tuple(
            _measured(s, scatter, float(ratio), instrument)
            for s, ratio in zip(series, parts.ratio, strict=True)
        ),
        set_aside=(*aside, *contradictory),
        scatter=scatter,
        warnings=tuple(warnings),
    )


def _usable(readings: Series) -> tuple[Series, list[SetAside], list[str]]:
    """Rows with a load, each once."""
    kept: Series = []
    aside: list[SetAside] = []
    warnings: list[str] = []
    seen: dict[tuple[object, ...], Reading] = {}
    for reading in readings:
        what = _what(reading)
        if reading.load == 0.0:
            aside.append(
                SetAside(rows=(reading.row,), what=what, reason="the load is zero: no stiffness follows")
            )
            continue
        place = (*_key(reading), reading.load, reading.set_up, reading.repeat, reading.branch)
        first = seen.setdefault(place, reading)
        if first is not reading and _same(first, reading):
            reason = f"the same row as row {first.row}: set-up {reading.set_up}, repeat {reading.repeat}"
            aside.append(SetAside(rows=(reading.row,), what=what, reason=reason))
            continue
        if first is not reading:
            warnings.append(
                f"rows {first.row} and {reading.row} are both set-up {reading.set_up}, repeat {reading.repeat} of {what} "
                "with different readings: taken as two repeats"
            )
        kept.append(reading)
    return kept, aside, warnings


def _same(a: Reading, b: Reading) -> bool:
    return dataclasses.replace(a, row=0) == dataclasses.replace(b, row=0)


def _what(reading: Reading) -> str:
    return f'"{reading.gauge}" under "{reading.pull}"'


def _key(reading: Reading) -> tuple[object, ...]:
    return reading.pull, reading.gauge, reading.reference, reading.state


def _series(readings: Series, instrument: Instrument) -> tuple[list[Series], list[SetAside]]:
    """Readings of the same thing together; those whose signs contradict each other set aside."""
    groups: dict[tuple[object, ...], Series] = {}
    for reading in readings:
        groups.setdefault(_key(reading), []).append(reading)
    kept, aside = [], []
    for group in groups.values():
        reason = _contradiction(group, LEAST_STEPS * instrument.step(group[0].gauge))
        if reason:
            rows = tuple(r.row for r in group)
            aside.append(SetAside(rows=rows, what=_what(group[0]), reason=reason))
        else:
            kept.append(group)
    return kept, aside


def _contradiction(series: Series, clear: float) -> str:
    plus = [r for r in series if r.value * math.copysign(1.0, r.load) > clear]
    minus = [r for r in series if r.value * math.copysign(1.0, r.load) < -clear]
    if not (plus and minus):
        return ""
    a, b = (", ".join(str(r.row) for r in rows) for rows in (plus, minus))
    return (
        f"contradictory signs: rows {a} move with the load, rows {b} against it; turn the sign of the load or of the "
        "reading where it is wrong. None of them is used"
    )


def _mixed_states(series: list[Series]) -> list[str]:
    found: dict[str, set[str]] = {}
    for group in series:
        for name, value in group[0].state:
            found.setdefault(name, set()).add(value)
    return [
        f'state "{name}" differs within the data set: {", ".join(sorted(values))}'
        for name, values in found.items()
        if len(values) > 1
    ]


# --- scatter ---------------------------------------------------------------------------------------------------------


def _largest(series: Series) -> float:
    return max(abs(r.load) for r in series)


def _set_ups(series: Series) -> dict[str, Series]:
    found: dict[str, Series] = {}
    for reading in series:
        found.setdefault(reading.set_up, []).append(reading)
    return found


def _mean(readings: Series, load: float) -> tuple[float, float]:
    """Reading at `load` by a line through the origin, and how many readings at that load it is worth."""
    squares = math.fsum(r.load**2 for r in readings)
    return load * math.fsum(r.load * r.value for r in readings) / squares, squares / load**2


def _within(series: Series) -> tuple[float, int]:
    """Sum of squares and degrees of freedom of repeats of the same load in the same set-up."""
    groups: dict[tuple[object, ...], list[float]] = {}
    for r in series:
        groups.setdefault((r.set_up, r.load, r.branch), []).append(r.value)
    square, degrees = 0.0, 0
    for values in groups.values():
        mean = math.fsum(values) / len(values)
        square += math.fsum((v - mean) ** 2 for v in values)
        degrees += len(values) - 1
    return square, degrees


def _table(series: Series) -> Anova | None:
    """Analysis of variance of the set-ups of a series; None where there is one, or all but one at next to no load."""
    load = _largest(series)
    means = [_mean(rows, load) for rows in _set_ups(series).values()]
    if len(means) < 2:
        return None
    sizes = [n for _, n in means]
    total = math.fsum(sizes)
    size = (total - math.fsum(n * n for n in sizes) / total) / (len(means) - 1)
    if size < TELLING:
        return None
    middle = math.fsum(n * m for m, n in means) / total
    return Anova(
        between=math.fsum(n * (m - middle) ** 2 for m, n in means),
        within=0.0,
        between_degrees=len(means) - 1,
        within_degrees=0,
        size=size,
    )


def _scatter(series: list[Series], instrument: Instrument) -> Scatter:
    within = [_within(s) for s in series]
    square, degrees = math.fsum(s for s, _ in within), sum(d for _, d in within)
    tables = [t for s in series if (t := _table(s)) is not None]
    both = pooled(tables)
    reading = math.sqrt(square / degrees) if degrees else 0.0
    if both is None:
        return Scatter(
            reading=reading,
            set_up=instrument.set_up,
            reading_degrees=degrees,
            set_up_degrees=instrument.set_up_degrees,
            assumed=True,
        )
    table = dataclasses.replace(both, within=square, within_degrees=degrees)
    set_up, set_up_degrees = _between(table)
    return Scatter(
        reading=reading, set_up=set_up, reading_degrees=degrees, set_up_degrees=set_up_degrees, assumed=False
    )


def _two_parts(series: list[Series], scatter: Scatter) -> TwoParts:
    """Scatter that all readings have and scatter that grows with them: of set-ups, else of repeats."""
    values, squares, degrees = [], [], []
    for s in series:
        values.append(_mean(s, _largest(s))[0])
        table = None if scatter.assumed else _table(s)
        square, freedom = _within(s) if scatter.assumed else (0.0, 0)
        squares.append(square if table is None else table.between / table.size)
        degrees.append(float(freedom if table is None else table.between_degrees))
    return two_parts(np.array(values), np.array(squares), np.array(degrees))


def _resized(scatter: Scatter, ratio: float) -> Scatter:
    """Scatter of a series whose variance is a multiple of the pooled one; what was taken, not found, stays."""
    root = math.sqrt(ratio)
    return dataclasses.replace(
        scatter,
        reading=root * scatter.reading,
        set_up=scatter.set_up if scatter.assumed else root * scatter.set_up,
    )


def _between(table: Anova) -> tuple[float, float]:
    """Scatter of set-ups and the degrees of freedom behind it, by Satterthwaite for a difference of mean squares."""
    if not table.within_degrees:
        return math.sqrt(table.between / table.between_degrees), table.between_degrees
    _, set_up = components(table)
    if set_up == 0.0:
        return 0.0, table.between_degrees
    upper = table.between / table.between_degrees / table.size
    lower = table.within / table.within_degrees / table.size
    lost = upper**2 / table.between_degrees + lower**2 / table.within_degrees
    return set_up, set_up**4 / lost


# --- one series ------------------------------------------------------------------------------------------------------


def _measured(series: Series, pool: Scatter, ratio: float, instrument: Instrument) -> Measured:
    load, scatter = _largest(series), _resized(pool, ratio)
    value, weights = _value(series, load, scatter)
    closure = math.fsum(r.closure for r in series) / len(series)
    linearity = _linearity(series, scatter)
    contributions = (
        *_type_a(weights, scatter, instrument),
        _step(series, scatter, instrument),
        Contribution(name="drift", u=abs(closure) / (2.0 * math.sqrt(3.0))),
        Contribution(name="load", u=instrument.u_load * abs(value), common=True),
        _cord(series, value, instrument),
    )
    first = series[0]
    return Measured(
        pull=first.pull,
        gauge=first.gauge,
        reference=first.reference,
        state=first.state,
        load=load,
        value=value,
        uncertainty=combine(c for c in contributions if c.u > 0.0),
        repeats=len(series),
        set_ups=len(weights),
        closure=closure,
        loop_width=_loop_width(series),
        linearity=linearity,
        flags=tuple(_flags(series, value, closure, linearity, pool, instrument)),
        rows=tuple(r.row for r in series),
        slant=_slant(series, instrument),
    )


def _slant(series: Series, instrument: Instrument) -> float:
    """Of the pull in each plane through it: the angle that was noted lies in a plane nobody noted."""
    angle = max(abs(r.angle) for r in series)
    return math.hypot(instrument.u_angle, math.sin(angle) / math.sqrt(2.0))


def _value(series: Series, load: float, scatter: Scatter) -> tuple[float, list[tuple[float, float]]]:
    """Mean over set-ups, with the weight and the number of readings of each."""
    means = [_mean(rows, load) for rows in _set_ups(series).values()]
    spread = [scatter.set_up**2 + scatter.reading**2 / n for _, n in means]
    raw = [1.0 / s for s in spread] if all(s > 0.0 for s in spread) else [n for _, n in means]
    total = math.fsum(raw)
    weights = [(w / total, n) for w, (_, n) in zip(raw, means, strict=True)]
    return math.fsum(w * m for (w, _), (m, _) in zip(weights, means, strict=True)), weights


def _type_a(
    weights: Sequence[tuple[float, float]], scatter: Scatter, instrument: Instrument
) -> list[Contribution]:
    found = []
    if scatter.reading_degrees:
        u = scatter.reading * math.sqrt(math.fsum(w * w / n for w, n in weights))
        found.append(Contribution(name="reading scatter", u=u, degrees=scatter.reading_degrees))
    name = "set-up scatter (assumed)" if scatter.assumed else "set-up scatter"
    if not scatter.reading_degrees and not scatter.assumed:
        name = "set-up and reading scatter"
    u = scatter.set_up * math.sqrt(math.fsum(w * w for w, _ in weights))
    found.append(Contribution(name=name, u=u, degrees=scatter.set_up_degrees))
    return found


def _step(series: Series, scatter: Scatter, instrument: Instrument) -> Contribution:
    """Rounding of the loaded reading and of the mean of two zeros.

    Scatter of half a step or more carries the rounding of single readings in itself; below that repeats are rounded
    alike and do not average it out.
    """
    step = instrument.step(series[0].gauge)
    found = math.hypot(scatter.reading, 0.0 if scatter.assumed else scatter.set_up)
    hidden = len(series) > 1 and found >= 0.5 * step
    return Contribution(name="resolution", u=0.0 if hidden else resolution(step) * math.sqrt(1.5))


def _cord(series: Series, value: float, instrument: Instrument) -> Contribution:
    """Loss of force along the pull when the cord leaves its direction (cosine error; JCGM 100, F.2.4.4)."""
    angle = max(abs(r.angle) for r in series)
    u = instrument.u_angle
    return Contribution(name="cord angle", u=abs(value) * max(math.tan(angle) * u, 0.5 * u * u))


def _loop_width(series: Series) -> float | None:
    """Unloading branch less loading branch; or, of pulls in both directions, the part of the closure that turns with
    the load."""
    branches: dict[tuple[str, float], dict[str, list[float]]] = {}
    for r in series:
        if r.branch in ("up", "down"):
            sides = branches.setdefault((r.set_up, r.load), {"up": [], "down": []})
            sides[r.branch].append(r.value * math.copysign(1.0, r.load))
    widths = [_average(s["down"]) - _average(s["up"]) for s in branches.values() if s["up"] and s["down"]]
    if widths:
        return _average(widths)
    plus = [r.closure for r in series if r.load > 0.0]
    minus = [r.closure for r in series if r.load < 0.0]
    return 0.5 * (_average(plus) - _average(minus)) if plus and minus else None


def _average(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _linearity(series: Series, scatter: Scatter) -> Linearity | None:
    """Slope of the compliance over the load within set-ups, weighted by load squared."""
    low, high = min(abs(r.load) for r in series), _largest(series)
    sxx, sxy = 0.0, 0.0
    for rows in _set_ups(series).values():
        w = [r.load**2 for r in rows]
        x = [abs(r.load) for r in rows]
        c = [r.value / r.load for r in rows]
        total = math.fsum(w)
        mx = math.fsum(a * b for a, b in zip(w, x, strict=True)) / total
        mc = math.fsum(a * b for a, b in zip(w, c, strict=True)) / total
        sxx += math.fsum(a * (b - mx) ** 2 for a, b in zip(w, x, strict=True))
        sxy += math.fsum(a * (b - mx) * (d - mc) for a, b, d in zip(w, x, c, strict=True))
    if high - low < 1e-9 * high or sxx == 0.0:
        return None
    slope, noise = sxy / sxx, scatter.reading or scatter.set_up
    return _change(series, slope, noise / math.sqrt(sxx), (low, high), scatter)


def _change(
    series: Series, slope: float, u_slope: float, ends: tuple[float, float], scatter: Scatter
) -> Linearity:
    low, high = ends
    mean = _mean(series, high)[0] / high
    squares = math.fsum(r.load**2 for r in series)
    centre = math.fsum(abs(r.load) ** 3 for r in series) / squares
    at_low = mean + slope * (low - centre)
    scale = (high - low) / at_low if at_low else math.inf
    t = slope / u_slope if u_slope > 0.0 else math.copysign(math.inf, slope) if slope else 0.0
    degrees = scatter.reading_degrees or scatter.set_up_degrees
    return Linearity(
        low=low,
        high=high,
        change=slope * scale,
        u=abs(u_slope * scale),
        t=t,
        clear=abs(t) > student(max(degrees, 1.0)),
    )


def _flags(
    series: Series,
    value: float,
    closure: float,
    linearity: Linearity | None,
    scatter: Scatter,
    instrument: Instrument,
) -> Iterable[str]:
    step = instrument.step(series[0].gauge)
    if abs(value) < LEAST_STEPS * step:
        yield f"below {LEAST_STEPS:.0f} steps of the scale: raise the load"
    if len(series) == 1:
        yield "one reading only: no repeats"
    elif len(_set_ups(series)) == 1:
        yield "one set-up only: take the stand off and put it back between repeats"
    if len(series) > 2 and len({r.value for r in series}) == 1:
        yield "all repeats equal: scatter hides below the resolution"
    if _restless(series, scatter):
        yield "scatters more than the other readings: repeat this one"
    if abs(closure) > max(0.1 * abs(value), step):
        yield f"zero moves by {closure * 1e6:+.2g} µm from before to after: wait, do not touch, repeat"
    if linearity is not None and linearity.clear and abs(linearity.change) > 0.02:
        word = "stiffens" if linearity.change < 0.0 else "softens"
        yield f"{word} with load: compliance {linearity.change:+.0%} from {linearity.low:.4g} to {linearity.high:.4g} N"
    angle = max(abs(r.angle) for r in series)
    if angle > STEEP_CORD:
        yield f"cord {math.degrees(angle):.0f}° off: {math.sin(angle):.0%} of the force pulls across"


def _restless(series: Series, scatter: Scatter) -> bool:
    """Whether repeats scatter beyond the pool of all others at 99 %."""
    square, degrees = _within(series)
    others = scatter.reading_degrees - degrees
    if degrees < 1 or others < 3:
        return False
    rest = (scatter.reading**2 * scatter.reading_degrees - square) / others
    return rest > 0.0 and square / degrees / rest > float(fisher.ppf(0.99, degrees, others))
