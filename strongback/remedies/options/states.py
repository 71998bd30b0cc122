"""Every subset of some options on a machine, evaluated exactly and fast.

Options change parts: the sections or the body of a member, the stiffness of a joint, a brace that is there or not. What
they do inside one part is solved for every subset of its own options; what parts do to each other follows from balance
(see `strongback.machine.statics.states`). That more options make a part stiffer is tested, never assumed.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

from strongback.errors import LimitError, MachineError
from strongback.machine.columns import column_body
from strongback.machine.loop import Loop, assemble
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts, alone
from strongback.machine.sections import section_stiffness
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.statics.elastic import joint_cuts, opened
from strongback.machine.statics.states import CondensedStates
from strongback.machine.values import COMPONENTS, Machine, Pull
from strongback.remedies.options.touched import Touched, touched
from strongback.remedies.options.values import Option, with_options

__all__ = ["MOST_BODIES", "MOST_SECTIONS", "OptionSets", "option_sets", "parts_for"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]
Progress = Callable[[float, str], None]
MOST_BODIES, MOST_SECTIONS = 16, 64  # states of one member
STIFFER = 1e-6  # by what a part may give more and yet count as not softer
ALONG = 1e-9  # of a load: a reading that is nearer to it is along it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """A part with a state for every subset of its own options."""

    name: str
    options: Index

    def states(self, sets: Mask) -> Index:
        """Number of the subset that each set is here."""
        return np.asarray(sets[:, self.options] @ (1 << np.arange(len(self.options))), dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OptionSets:
    """Readings of a machine with any subset of some options.

    Parameters
    ----------
    options : tuple of Option
    pulls : tuple of Pull
        Each with a force; its reading is the motion of the tool along it.
    direct : ndarray of bool, shape (pulls,)
        Whether the reading is the load itself, counterforce included.
    excludes : tuple of (int, int)
        Options that cannot be together.
    not_monotone : tuple of str
        Options that make some part softer in some state, so that no bound holds with them.
    states : int
        Sections and bodies solved.
    """

    options: tuple[Option, ...]
    pulls: tuple[Pull, ...]
    direct: Mask
    excludes: tuple[tuple[int, int], ...]
    not_monotone: tuple[str, ...]
    states: int
    _form: CondensedStates
    _members: tuple[_Part, ...]
    _holders: tuple[_Part, ...]
    _stiffness: tuple[Array, ...]  # (2^k, 6) of each holder
    _kept: tuple[tuple[int, int], ...]  # (holder, component) of each column of compliance
    _absent: tuple[tuple[int, int], ...]
    _sizes: Array  # of the forces of the pulls

    def values(self, sets: Mask) -> Array:
        """r'A f, r'A r and f'A f of every pull, (n, pulls, 3).

        Parameters
        ----------
        sets : ndarray of bool, shape (n, options)
        """
        compliance, roots = self._springs(sets)
        index = np.column_stack(
            [part.states(sets) for part in self._members] + [np.zeros(len(sets), dtype=np.int64)]
        )
        return self._form(index, compliance, roots).reshape(len(sets), len(self.pulls), 3)

    def readings(self, sets: Mask) -> Array:
        """Motion of the tool along each pull, (n, pulls) [m]."""
        return self.values(sets)[:, :, 0]

    def drawn(self, sets: Mask, factors: Array) -> Array:
        """Readings with joint stiffnesses drawn in common, (n, draws, pulls) [m].

        Parameters
        ----------
        sets : ndarray of bool, shape (n, options)
        factors : ndarray, shape (draws, components)
            On the stiffnesses of all components of `component_names`.
        """
        n, draws = len(sets), len(factors)
        compliance, roots = self._springs(sets)
        kept = len(self._kept)
        index = np.column_stack([part.states(sets) for part in self._members] + [np.zeros(n, dtype=np.int64)])
        found = self._form(
            np.repeat(index, draws, axis=0),
            np.repeat(compliance, draws, axis=0) / np.tile(factors[:, :kept], (n, 1)),
            np.repeat(roots, draws, axis=0) * np.sqrt(np.tile(factors[:, kept:], (n, 1))),
        )
        return found.reshape(n, draws, len(self.pulls), 3)[..., 0]

    @property
    def component_names(self) -> tuple[tuple[str, str], ...]:
        """Joint and component of each column of `drawn`."""
        return tuple((self._holders[h].name, COMPONENTS[c]) for h, c in (*self._kept, *self._absent))

    def machine_with(self, machine: Machine, chosen: Sequence[str]) -> Machine:
        """The machine with the options of some names, in their order."""
        return with_options(machine, tuple(o for o in self.options if o.name in chosen))

    def _springs(self, sets: Mask) -> tuple[Array, Array]:
        rows = [table[part.states(sets)] for part, table in zip(self._holders, self._stiffness, strict=True)]
        kept = np.array([rows[h][:, c] for h, c in self._kept]).reshape(len(self._kept), len(sets))
        absent = np.array([rows[h][:, c] for h, c in self._absent]).reshape(len(self._absent), len(sets))
        with np.errstate(divide="ignore"):
            return np.ascontiguousarray((1.0 / kept).T), np.ascontiguousarray(np.sqrt(absent).T)


def option_sets(
    machine: Machine,
    parts: Parts,
    options: Sequence[Option],
    pulls: Sequence[Pull],
    *,
    every_joint: bool = False,
    alone: bool = False,
    progress: Progress | None = None,
) -> OptionSets:
    """Solve every part in every state that some options put it in.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        Of it.
    options : sequence of Option
        None of them moves anything: see `touched`.
    pulls : sequence of Pull
        Those with a force.
    every_joint : bool
        Whether joints that no option touches are to vary, too, for draws.
    alone : bool
        Whether only sets of one option will be asked about: then no member is solved with two.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    OptionSets

    Raises
    ------
    MachineError
        If an option changes the geometry or cannot be done, or a pull has no force.
    LimitError
        If a member would have too many states.
    """
    chosen = tuple(options)
    for pull in pulls:
        if not np.any(pull.force):
            raise MachineError(f'pull "{pull.name}" is a couple', hint="options are weighed under forces")
    marks = [_touched(machine, option) for option in chosen]
    together = _everything(machine, chosen)
    names = [m.name for m in machine.members if any(m.name in mark.members for mark in marks)]
    bodies = set(body_names(together))
    members = [_part(name, [name in mark.members for mark in marks]) for name in names]
    machines, excludes = _solved_states(machine, members, chosen, alone)
    for part, own in zip(members, machines, strict=True):
        _refuse_many(part, own, MOST_BODIES if part.name in bodies else MOST_SECTIONS, chosen)
    count = sum(len(own) for own in machines)
    done = itertools.count(1)
    holders, tables = _holder_tables(machine, together, chosen, marks, every_joint)
    grams: list[list[Array | None]] = []
    base = assemble(together, parts_for(parts, machine, together))
    kept, absent = _varying(tables)
    frame = _Frame(base, pulls, [(holders[h].name, COMPONENTS[c]) for h, c in (*kept, *absent)], len(kept))
    for part, own in zip(members, machines, strict=True):
        grams.append([])
        for state in own:
            if state is None:
                grams[-1].append(None)
                continue
            loop = frame.loop_with(together, parts, machine, state, part.name)
            grams[-1].append(frame.gram(loop, (part.name,)))
            (progress or _quiet)(next(done) / max(count, 1), part.name)
    rest = frame.gram(base, tuple(m.name for m in together.members if m.name not in names), joints=True)
    bad = _softened(members, grams) | _softened_joints(holders, tables)
    form = CondensedStates(
        grams=(*(np.stack(_stood_in(own)) for own in grams), rest[None]),
        forces=frame.forces[: len(kept)],
        removable=frame.removable,
        pairs=frame.pairs,
    )
    named = {o.name: i for i, o in enumerate(chosen)}
    said = {
        (min(i, named[other]), max(i, named[other]))
        for i, option in enumerate(chosen)
        for other in option.excludes
        if other in named
    }
    return OptionSets(
        options=chosen,
        pulls=tuple(pulls),
        direct=frame.direct,
        excludes=tuple(sorted(said | excludes)),
        not_monotone=tuple(chosen[i].name for i in sorted(bad)),
        states=count,
        _form=form,
        _members=tuple(members),
        _holders=tuple(holders),
        _stiffness=tuple(tables),
        _kept=kept,
        _absent=absent,
        _sizes=frame.sizes,
    )


def _quiet(fraction: float, what: str) -> None:
    """No progress."""


def _touched(machine: Machine, option: Option) -> Touched:
    mark = touched(machine, option.on(machine))
    if mark.geometry:
        raise MachineError(
            f'option "{option.name}" changes the geometry: {mark.geometry}',
            hint="weigh it as an alternative, solved by itself",
        )
    return mark


def _everything(machine: Machine, options: Sequence[Option]) -> Machine:
    """The machine with every block, joint and support that any option brings, its members as they are."""
    joints, supports, blocks = list(machine.joints), list(machine.supports), list(machine.blocks)
    for option in options:
        there = option.on(machine)
        joints += [j for j in there.joints if j.name not in {k.name for k in joints}]
        supports += [s for s in there.supports if s.name not in {k.name for k in supports}]
        blocks += [b for b in there.blocks if b.name not in {k.name for k in blocks}]
    return dataclasses.replace(machine, joints=tuple(joints), supports=tuple(supports), blocks=tuple(blocks))


def _part(name: str, touches: Sequence[bool]) -> _Part:
    return _Part(name=name, options=np.flatnonzero(touches))


def _refuse_many(part: _Part, states: Sequence[Machine | None], most: int, options: Sequence[Option]) -> None:
    count = sum(state is not None for state in states)
    if count > most:
        names = ", ".join(f'"{options[i].name}"' for i in part.options)
        raise LimitError(
            f'{len(part.options)} options on "{part.name}" have {count} states, at most {most} are solved',
            hint=f"leave out some of {names}",
        )


def _subsets(
    machine: Machine, part: _Part, options: Sequence[Option], alone: bool = False
) -> list[Machine | None]:
    """The machine with every subset of the options of a part; None where they exclude each other."""
    found: list[Machine | None] = []
    for code in range(1 << len(part.options)):
        own = tuple(options[i] for k, i in enumerate(part.options) if code >> k & 1)
        if any(b.name in a.excludes for a in own for b in own) or (alone and len(own) > 1):
            found.append(None)
            continue
        try:
            found.append(with_options(machine, own))
        except MachineError:
            if len(own) < 2:
                raise
            found.append(None)
    return found


def _solved_states(
    machine: Machine, members: Sequence[_Part], options: Sequence[Option], alone: bool
) -> tuple[list[list[Machine | None]], set[tuple[int, int]]]:
    """Machines of every state, and the pairs that cannot be together."""
    machines, excludes = [], set()
    for part in members:
        own = _subsets(machine, part, options, alone)
        for a, b in itertools.combinations(range(len(part.options)), 2):
            if own[1 << a | 1 << b] is None:
                i, j = sorted((int(part.options[a]), int(part.options[b])))
                excludes.add((i, j))
        machines.append(own)
    return machines, excludes


def _holder_tables(
    machine: Machine,
    together: Machine,
    options: Sequence[Option],
    marks: Sequence[Touched],
    every_joint: bool,
) -> tuple[list[_Part], list[Array]]:
    """Joints and supports with their stiffness in every state, (2^k, 6)."""
    parts, tables = [], []
    for _, holder in together.holders():
        own = _part(holder.name, [holder.name in (*mark.holders, *mark.new) for mark in marks])
        if len(own.options) == 0 and not every_joint:
            continue
        rows = []
        for there in _subsets(machine, own, options):
            found = {h.name: h.stiffness for _, h in there.holders()} if there is not None else {}
            rows.append(found.get(holder.name, (0.0,) * 6))
        table = np.array(rows)
        if len(table) > 1 and np.all(np.isinf(table[1:]) | (table[1:] == 0.0)) and np.all(table[0] == 0.0):
            continue  # a block on a rigid joint: it hangs there without its brace, too
        parts.append(own)
        tables.append(table)
    return parts, tables


def _varying(tables: Sequence[Array]) -> tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]:
    """Components that are always there, and those that may be absent; free ones are neither."""
    kept, absent = [], []
    for h, table in enumerate(tables):
        for c in range(6):
            column = table[:, c]
            if np.all(column > 0.0):
                kept.append((h, c))
            elif np.any(column > 0.0):
                if np.any(np.isinf(column)):
                    raise MachineError(
                        "a component that may be absent cannot be rigid", hint="give it a stiffness"
                    )
                absent.append((h, c))
    return tuple(kept), tuple(absent)


def parts_for(parts: Parts, known: Machine, machine: Machine, *, sections_only: bool = False) -> Parts:
    """Parts of a machine of which those of another are known: what is new is solved.

    Parameters
    ----------
    parts : Parts
        Of `known`.
    known, machine : Machine
    sections_only : bool
        Whether bodies are left out, as for a mass.

    Returns
    -------
    Parts
    """
    old = dict(known.sections)
    used = {span.section for member in machine.members for span in member.spans}
    new = tuple(
        (n, s) for n, s in machine.sections if n in used and (old.get(n) != s or n not in parts.sections)
    )
    if new:
        parts = parts.with_sections(section_stiffness(dataclasses.replace(machine, sections=new)))
    if sections_only:
        return parts
    before = {m.name: m for m in known.members}
    bodies = set(body_names(machine))
    for member in machine.members:
        if member.name in bodies:
            was = before.get(member.name)
            changed = was != member or any(s.section in dict(new) for s in member.spans)
            if changed or member.name not in parts.bodies:
                parts = parts.with_bodies({member.name: alone(member, column_body(machine, member))})
    return parts


class _Frame:
    """Which forces are unknown, the same for every state, and the vectors that are asked about."""

    def __init__(
        self, base: Loop, pulls: Sequence[Pull], varying: Sequence[tuple[str, str]], kept: int
    ) -> None:
        statics, geometry = base.statics, base.statics.geometry
        self.pulls = pulls
        self.names = [(c.owner, c.name) for c in base.components]
        self.varying = np.array([self.names.index(name) for name in varying], dtype=np.int64)
        absent = self.varying[kept:]
        compliance = statics.compliance.copy()
        unit = geometry.joint_unit
        softest = max(
            float((compliance * unit**2).max()),
            float((np.diag(statics.condensed) * geometry.element_unit**2).max(initial=0.0)),
        )
        compliance[absent] = 1e6 * softest / unit[absent] ** 2
        self.cut, self.dropped = joint_cuts(geometry, statics.condensed, compliance)
        missing = [i for i in absent if i not in self.cut]
        if missing:
            owner, name = self.names[missing[0]]
            raise MachineError(f'without "{owner}", {name}, nothing holds its part')
        self.removable = np.array([int(np.flatnonzero(self.cut == i)[0]) for i in absent], dtype=np.int64)
        self.sizes = np.array([float(np.linalg.norm(p.force)) for p in pulls])
        loads, reads = self._vectors(base)
        apart = np.abs(loads - self.sizes * reads).max(axis=0) / np.abs(loads).max(axis=0)
        self.direct = apart < ALONG
        # Vectors: loads first, then the readings that are not along them; three pairs of them a pull.
        place = np.cumsum(~self.direct) - 1 + len(pulls)
        self.pairs = np.array(
            [
                pair
                for j, direct in enumerate(self.direct)
                for pair in (((j, j),) * 3 if direct else ((int(place[j]), j), (int(place[j]),) * 2, (j, j)))
            ],
            dtype=np.int64,
        )
        self.forces = self._states(base)[1][self.varying]

    def _vectors(self, loop: Loop) -> tuple[Array, Array]:
        rows = tool_rows(loop)[:3]
        loads = np.column_stack([pull_load(loop, p) for p in self.pulls])
        along = [np.asarray(p.force) / size @ rows for p, size in zip(self.pulls, self.sizes, strict=True)]
        return loads, np.column_stack(along)

    def _states(self, loop: Loop) -> tuple[Array, Array]:
        """Forces of elements and of joints in every vector and self-stress."""
        primary, states = opened(loop.statics.geometry, self.cut, self.dropped)
        loads, reads = self._vectors(loop)
        # A direct reading is f / |f|: both are scaled so that f'A f is the reading.
        loads = loads / np.where(self.direct, np.sqrt(self.sizes), 1.0)
        carried = primary.carry(np.column_stack([loads, reads[:, ~self.direct]]))
        return np.hstack([carried.elements, states.elements]), np.hstack([carried.joints, states.joints])

    def loop_with(self, together: Machine, parts: Parts, known: Machine, state: Machine, member: str) -> Loop:
        """The whole loop with one member in a state."""
        own = {m.name: m for m in state.members}[member]
        there = dataclasses.replace(
            together,
            sections=tuple({**dict(together.sections), **dict(state.sections)}.items()),
            members=tuple(own if m.name == member else m for m in together.members),
        )
        loop = assemble(there, parts_for(parts, known, there))
        if loop.ties:
            raise MachineError(
                f'"{member}" warps on into another member',
                hint='give the ends that meet "held" or "free" instead of "joined"',
            )
        return loop

    def gram(self, loop: Loop, members: Sequence[str], *, joints: bool = False) -> Array:
        """Virtual work of some members between vectors and self-stresses; of joints that stay as they are, too."""
        elements, forces = self._states(loop)
        ends = np.cumsum([0, *(len(e.shape) for e in loop.elements)])
        own = [
            np.arange(a, b)
            for a, b, e in zip(ends[:-1], ends[1:], loop.elements, strict=True)
            if e.member in members
        ]
        rows = np.concatenate(own) if own else np.zeros(0, dtype=np.int64)
        F = loop.statics.condensed[np.ix_(rows, rows)]
        found = elements[rows].T @ F @ elements[rows]
        if joints:
            compliance = loop.statics.compliance.copy()
            compliance[self.varying] = 0.0
            found = found + forces.T @ (compliance[:, None] * forces)
        return np.asarray(0.5 * (found + found.T))


def _least(new: Array, old: Array) -> float:
    """Largest t with new >= t old, on what either of them gives at all."""
    both = old + new
    scale = 1.0 / np.sqrt(np.maximum(np.diag(both), 1e-300))  # in units in which every vector gives as much
    scale[np.diag(both) <= 0.0] = 0.0
    values, vectors = np.linalg.eigh(both * np.outer(scale, scale))
    kept = values > 1e-9 * values[-1]
    root = scale[:, None] * vectors[:, kept] / np.sqrt(values[kept])
    share = scipy.linalg.eigvalsh(root.T @ new @ root)
    low = float(share[0])
    return max(low, 0.0) / max(1.0 - low, 1e-300)


def _softened(members: Sequence[_Part], grams: Sequence[Sequence[Array | None]]) -> set[int]:
    """Options that make a member give more in some state: smallest generalised eigenvalue below 1."""
    bad = set()
    for part, own in zip(members, grams, strict=True):
        for code, k in itertools.product(range(len(own)), range(len(part.options))):
            off, on = own[code], own[code | 1 << k]
            if not code >> k & 1 and off is not None and on is not None and _least(off, on) < 1.0 - STIFFER:
                bad.add(int(part.options[k]))
    return bad


def _softened_joints(holders: Sequence[_Part], tables: Sequence[Array]) -> set[int]:
    bad = set()
    for part, table in zip(holders, tables, strict=True):
        for code, k in itertools.product(range(len(table)), range(len(part.options))):
            if not code >> k & 1 and np.any(table[code | 1 << k] < table[code] * (1.0 - STIFFER)):
                bad.add(int(part.options[k]))
    return bad


def _stood_in(own: Sequence[Array | None]) -> list[Array]:
    """Grams of every subset; of one that cannot be, one that gives less than all subsets of it that can."""
    none = own[0]
    assert none is not None
    share = [1.0 if gram is None else min(1.0, _least(gram, none)) for gram in own]
    found = []
    for code, gram in enumerate(own):
        if gram is None:
            least = min(share[s] for s in range(len(own)) if s & code == s and own[s] is not None)
            gram = least * none
        found.append(gram)
    return found
