"""What may be wrong with readings or with the machine that was drawn, one by one, each as another table of compliances.

Sizes are those of slips that happen: 20 mm of a gauge's point, 15 mm of a pull's, 10 degrees, 20 µm of an outlier or of
play, a tenth of a load (common practice, no source).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.evidence.model import Matched, Pair, in_words
from strongback.evidence.stand_in import OWN, POINT, SLANT, StandIn
from strongback.machine.loop import Loop
from strongback.machine.values import COMPONENTS, GROUND, RIGID, Gauge, Machine

__all__ = ["EXTRA", "Suspect", "suspects_of"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
GAUGE_POINT = 0.020  # [m]
PULL_POINT = 0.015
PULL_DIRECTION = math.radians(10.0)
OUTLIER = 20e-6
PLAY = 20e-6
TOGETHER = 0.25  # of the logarithm of a modulus or of the walls of a member
SOFTER = 1.0  # of the logarithm of a joint under one pull only
EXTRA = 6  # springs of a joint that is not in the model
SEEN = 0.3  # of a reading's own uncertainty: below that a suspect leaves no trace
DECADES = (("ten times smaller", 0.1), ("ten times larger", 10.0))
UNITS = (("mm instead of µm", 1e-3), ("nm instead of µm", 1e3))
LOADS = (
    ("in kg instead of newton", 9.81),
    ("in newton instead of kg", 1.0 / 9.81),
    ("in pounds-force instead of newton", 4.448),
    ("in newton instead of pounds-force", 1.0 / 4.448),
    ("in kg instead of pounds", 2.205),
    ("in pounds instead of kg", 1.0 / 2.205),
    ("twice as large", 2.0),
    ("half as large", 0.5),
    ("a tenth larger", 1.1),
    ("a tenth smaller", 1.0 / 1.1),
)
AXES = (("+X", (1.0, 0.0, 0.0)), ("+Y", (0.0, 1.0, 0.0)), ("+Z", (0.0, 0.0, 1.0)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suspect:
    """One thing that may be otherwise than stated.

    Parameters
    ----------
    kind : str
        Its class: suspects of one class share its prior.
    item : str
        What it is about: a gauge, a pull, a joint, a member.
    words : str
        As the clause after "if".
    rows : ndarray of int, shape (r,)
        Readings that it changes.
    table : ndarray, shape (r, s, 1 + n)
        Their compliances then [m].
    extra : ndarray, shape (m, 6), optional
        Compliances of a joint that is not in the model.
    """

    kind: str
    item: str
    words: str
    rows: Index
    table: Array
    extra: Array | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """A suspect whose compliances have to be solved for: other gauge rows, or one more load in the slot of its own.

    `gauge` (r, unknowns) and `load` (r, unknowns) or None; `sign` of the reading.
    """

    kind: str
    item: str
    words: str
    rows: Index
    gauge: Array
    load: Array | None = None
    whole: bool = True
    sign: float = 1.0


def _solved(asked: Sequence[_Asked], base: StandIn) -> list[Suspect]:
    """All of them in one solution."""
    if not asked:
        return []
    loads, rows = [], []
    for each in asked:
        own = base.loads[each.rows][:, :, :1] if each.load is None else each.load[:, :, None]
        here = base.loads[each.rows] if each.whole else own
        loads.append(here.transpose(0, 2, 1).reshape(-1, here.shape[1]))
        rows.append(np.repeat(each.gauge, here.shape[2], axis=0))
    work = base.works.of(np.concatenate(loads).T, np.concatenate(rows).T)[0]
    found, first = [], 0
    for each, mine in zip(asked, loads, strict=True):
        part = work[first : first + len(mine)].reshape(len(each.rows), -1, work.shape[1])
        first += len(mine)
        table = base.table[each.rows].copy()
        if each.whole:
            table[:, : part.shape[1]] = each.sign * part
        else:
            table[:, OWN] = part[:, 0]
        found.append(Suspect(kind=each.kind, item=each.item, words=each.words, rows=each.rows, table=table))
    return found


def suspects_of(machine: Machine, matched: Matched, base: StandIn) -> tuple[Suspect, ...]:
    """Everything that is tried.

    Parameters
    ----------
    machine : Machine
    matched : Matched
    base : StandIn
        Of the machine as stated.

    Returns
    -------
    tuple of Suspect
        Only those that would move a reading by more than a third of its own uncertainty.
    """
    gauges = {gauge.name: gauge for _, gauge in matched.pairs}
    asked = [*_gauges_asked(matched.pairs, gauges, base), *_pulls_asked(matched.pairs, base)]
    stands = _solved(list(_stands_asked(machine, matched.pairs, gauges, base)), base)
    found = (
        *_units(matched.pairs, gauges, base),
        *_solved(asked, base),
        *stands,
        *_all_stands(stands, gauges),
        *_loads(matched.pairs, base),
        *_outliers(matched, base),
        *_joints(machine, matched.pairs, base),
        *_missing(machine, base),
        *_members(machine, base),
    )
    return tuple(s for s in found if _visible(s, base))


def _visible(suspect: Suspect, base: StandIn) -> bool:
    change = np.abs(suspect.table - base.table[suspect.rows]).sum(axis=(1, 2))
    change = change + (0.0 if suspect.extra is None else np.abs(suspect.extra[suspect.rows]).sum(axis=1))
    return bool(np.any(change > SEEN * np.sqrt(base.variance[suspect.rows])))


def _of(matched: Sequence[Pair], name: str) -> Index:
    return np.array([i for i, (_, gauge) in enumerate(matched) if gauge.name == name], dtype=np.int64)


def _under(matched: Sequence[Pair], names: set[str]) -> Index:
    return np.array([i for i, (pull, _) in enumerate(matched) if pull.name in names], dtype=np.int64)


# --- gauges ---------------------------------------------------------------------------------------------------------------


def _units(pairs: Sequence[Pair], gauges: Mapping[str, Gauge], base: StandIn) -> Iterator[Suspect]:
    for name in gauges:
        rows = _of(pairs, name)
        yield _scaled("sign", name, f'"{name}" were read with the other sign', rows, base, -1.0)
        for words, factor in DECADES:
            yield _scaled("decade", name, f'"{name}" were noted {words}', rows, base, factor)
        for words, factor in UNITS:
            yield _scaled("unit", name, f'"{name}" were noted in {words}', rows, base, factor)
    every = np.arange(len(pairs), dtype=np.int64)
    for words, factor in UNITS:
        yield _scaled("unit", "all gauges", f"all readings were noted in {words}", every, base, factor)


def _scaled(kind: str, item: str, words: str, rows: Index, base: StandIn, factor: float) -> Suspect:
    return Suspect(kind=kind, item=item, words=words, rows=rows, table=factor * base.table[rows])


def _gauges_asked(pairs: Sequence[Pair], gauges: Mapping[str, Gauge], base: StandIn) -> Iterator[_Asked]:
    for name, gauge in gauges.items():
        rows = _of(pairs, name)
        yield from _axes(gauge, rows, base)
        yield from _points(gauge, rows, base)


def _axes(gauge: Gauge, rows: Index, base: StandIn) -> Iterator[_Asked]:
    own = np.asarray(gauge.direction) / np.linalg.norm(gauge.direction)
    for word, axis in AXES:
        if abs(float(own @ np.asarray(axis))) > 0.9:
            continue
        row = base.works.row(dataclasses.replace(gauge, direction=axis))
        if row is None:
            continue
        for name, sign in (("+", 1.0), ("-", -1.0)):
            yield _Asked(
                kind="axis",
                item=gauge.name,
                words=f'"{gauge.name}" stood along {name}{word[1]}',
                rows=rows,
                gauge=np.tile(row, (len(rows), 1)),
                sign=sign,
            )


def _points(gauge: Gauge, rows: Index, base: StandIn) -> Iterator[_Asked]:
    """The touched point a little aside: the part turns about it as a rigid body does."""
    turn = base.works.loop.motion_of(gauge.part, gauge.at)[3:]
    direction = np.asarray(gauge.direction) / np.linalg.norm(gauge.direction)
    for word, axis in AXES:
        arm = GAUGE_POINT * np.asarray(axis)
        row = np.cross(arm, direction) @ turn  # direction . (turn x arm)
        if np.any(row):
            yield _Asked(
                kind="gauge point",
                item=gauge.name,
                words=f'"{gauge.name}" touched elsewhere along {word[1]}',
                rows=rows,
                gauge=np.tile(row, (len(rows), 1)),
                whole=False,
            )


def _place(part: str) -> str:
    return "the bench" if part == GROUND else f'"{part}"'


def _stands_asked(
    machine: Machine, pairs: Sequence[Pair], gauges: Mapping[str, Gauge], base: StandIn
) -> Iterator[_Asked]:
    parts = [GROUND, *(m.name for m in machine.members), *(b.name for b in machine.blocks)]
    for name, gauge in gauges.items():
        rows = _of(pairs, name)
        for part in parts:
            if part in (gauge.reference, gauge.part):
                continue
            stand = _beside(base.works.loop, part, gauge)
            row = base.works.row(dataclasses.replace(gauge, reference=part, stand=stand))
            if row is not None:
                yield _Asked(
                    kind="stand",
                    item=name,
                    words=f'the stand of "{name}" stood on {_place(part)}',
                    rows=rows,
                    gauge=np.tile(row, (len(rows), 1)),
                )


def _all_stands(single: Sequence[Suspect], gauges: Mapping[str, Gauge]) -> Iterator[Suspect]:
    """All stands of a part on another part, from those of single gauges."""
    known = {s.words: s for s in single}
    parts = dict.fromkeys(s.words.rsplit(" stood on ", 1)[1] for s in single)
    for old in dict.fromkeys(g.reference for g in gauges.values()):
        named = [name for name, g in gauges.items() if g.reference == old]
        for there in parts:
            moved = [known.get(f'the stand of "{name}" stood on {there}') for name in named]
            every = [s for s in moved if s is not None]
            if len(named) < 2 or len(every) < len(named):
                continue
            yield Suspect(
                kind="stands",
                item=f"stands on {old}",
                words=f"all stands on {_place(old)} stood on {there}",
                rows=np.concatenate([s.rows for s in every]),
                table=np.concatenate([s.table for s in every]),
            )


def _beside(loop: Loop, part: str, gauge: Gauge) -> tuple[float, float, float] | None:
    """Where a stand would sit on a part: at the station of a beam that is nearest to the gauge."""
    if part not in loop.stations:
        return None
    points = loop.stations[part].points
    x, y, z = (float(v) for v in points[int(np.argmin(np.linalg.norm(points - gauge.at, axis=1)))])
    return x, y, z


# --- pulls ----------------------------------------------------------------------------------------------------------------


def _loads(pairs: Sequence[Pair], base: StandIn) -> Iterator[Suspect]:
    pulls = list(dict.fromkeys(pull.name for pull, _ in pairs))
    every = np.arange(len(pairs), dtype=np.int64)
    for words, factor in LOADS:
        for name in pulls:
            rows = _under(pairs, {name})
            yield _scaled("load", name, f'the load of "{name}" were {words}', rows, base, factor)
        if len(pulls) > 1:
            yield _scaled("loads", "all loads", f"all loads were {words}", every, base, factor)


def _pulls_asked(pairs: Sequence[Pair], base: StandIn) -> Iterator[_Asked]:
    places: dict[tuple[str, object], set[str]] = {}
    wide = {}
    for pull, _ in pairs:
        places.setdefault((pull.part, pull.at), set()).add(pull.name)
        if pull not in wide:
            wide[pull] = base.works.loads(pull, PULL_DIRECTION, PULL_POINT)

    def asked(kind: str, item: str, words: str, rows: Index, slot: int) -> _Asked:
        load = np.stack([wide[pairs[i][0]][:, slot] for i in rows])
        return _Asked(
            kind=kind, item=item, words=words, rows=rows, gauge=base.rows[rows], load=load, whole=False
        )

    for name in dict.fromkeys(pull.name for pull, _ in pairs):
        rows = _under(pairs, {name})
        for slot in SLANT:
            yield asked("pull direction", name, f'"{name}" pulled in another direction', rows, slot)
        for slot, (word, _) in zip(POINT, AXES, strict=True):
            yield asked("pull point", name, f'"{name}" pulled elsewhere along {word[1]}', rows, slot)
    for (part, _), names in places.items():
        if len(names) < 2:
            continue
        listed = ", ".join(f'"{n}"' for n in sorted(names))
        for slot, (word, _) in zip(POINT, AXES, strict=True):
            words = f"{listed} all pulled elsewhere along {word[1]}"
            yield asked("pull point", f"pulls at {part}", words, _under(pairs, names), slot)


def _outliers(matched: Matched, base: StandIn) -> Iterator[Suspect]:
    for i, m in enumerate(matched.measured):
        table = base.table[[i]].copy()
        table[0, OWN, 0] = OUTLIER
        yield Suspect(
            kind="outlier",
            item=m.gauge,
            words=f'"{m.gauge}" under "{m.pull}" were misread',
            rows=np.array([i], dtype=np.int64),
            table=table,
        )


# --- the machine ----------------------------------------------------------------------------------------------------------


def _joints(machine: Machine, pairs: Sequence[Pair], base: StandIn) -> Iterator[Suspect]:
    """Joints that are softer under one pull only, as where a face opens, and joints with play."""
    names = [(c.owner, c.name) for c in base.works.loop.components]
    for k, parameter in enumerate(base.works.parameters):
        if parameter.kind == "member":
            continue
        words = in_words(parameter, machine)
        for pull in dict.fromkeys(p.name for p, _ in pairs):
            rows = _under(pairs, {pull})
            table = base.table[rows].copy()
            table[:, OWN, 1 + k] = SOFTER * table[:, 0, 1 + k]
            yield Suspect(
                kind="opens",
                item=parameter.part,
                words=f'{words} gave more or less under "{pull}" than else, as where a face opens',
                rows=rows,
                table=table,
            )
        c = names.index((parameter.part, parameter.mechanism))
        column = base.virtual[c] * np.sign(base.joints[c])
        column[np.abs(base.joints[c]) < 1e-9 * np.abs(base.joints[c]).max(initial=1e-300)] = 0.0
        largest = float(np.abs(column).max(initial=0.0))
        if largest > 0.0:
            table = base.table.copy()
            table[:, OWN, 0] = PLAY / largest * column
            yield Suspect(
                kind="play",
                item=parameter.part,
                words=f"{words} had play",
                rows=np.arange(len(table), dtype=np.int64),
                table=table,
            )


def _missing(machine: Machine, base: StandIn) -> Iterator[Suspect]:
    """Joints that were taken as rigid all over, as stiff as the others of the machine are in the middle."""
    known = [(name, k) for _, h in machine.holders() for name, k in zip(COMPONENTS, h.stiffness, strict=True)]
    typical = {}
    for word in ("along", "about"):
        finite = [math.log(k) for name, k in known if name.startswith(word) and 0.0 < k < math.inf]
        typical[word] = math.exp(sum(finite) / len(finite)) if finite else math.inf
    components = [(c.owner, c.name) for c in base.works.loop.components]
    for _, holder in machine.holders():
        if set(holder.stiffness) != {RIGID}:
            continue
        extra = np.zeros((len(base.data), EXTRA))
        for j, name in enumerate(COMPONENTS):
            if (holder.name, name) in components:
                c = components.index((holder.name, name))
                extra[:, j] = base.joints[c] * base.virtual[c] / typical[name.split()[0]]
        if np.any(extra):
            yield Suspect(
                kind="joint missing",
                item=holder.name,
                words=f'"{holder.name}" gave, which the model takes as rigid',
                rows=np.arange(len(base.data), dtype=np.int64),
                table=base.table,
                extra=extra,
            )


def _members(machine: Machine, base: StandIn) -> Iterator[Suspect]:
    own: dict[str, list[int]] = {}
    for k, parameter in enumerate(base.works.parameters):
        if parameter.kind == "member":
            own.setdefault(parameter.part, []).append(k)
    for name, index in own.items():
        if len(index) > 1:
            yield _softer("member", name, f'the walls of "{name}" were thinner or thicker', index, base)
    alike: dict[str, list[str]] = {}
    for member in machine.members:
        for material in _materials(machine, member.spans[0].section):
            alike.setdefault(material, []).append(member.name)
    for material, members in alike.items():
        index = [k for name in members for k in own.get(name, ())]
        if len(members) > 1 and index:
            yield _softer("material", material, f"{material} had another modulus", index, base)


def _softer(kind: str, item: str, words: str, index: list[int], base: StandIn) -> Suspect:
    table = base.table.copy()
    columns = 1 + np.array(index)
    table[:, OWN, columns] = -TOGETHER * table[:, 0, columns]
    return Suspect(kind=kind, item=item, words=words, rows=np.arange(len(table), dtype=np.int64), table=table)


def _materials(machine: Machine, section: str) -> tuple[str, ...]:
    known = dict(machine.sections).get(section)
    return tuple(dict.fromkeys(w.material.name for w in getattr(known, "walls", ())))
