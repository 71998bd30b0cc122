"""A second statics of a machine, naive and certified: what the package is compared with.

It shares no step with the package. Every number is a ball, a midpoint and a radius that holds the truth (F. Johansson, Arb,
IEEE Trans. Comput. 66, 2017, 1281); precision is doubled until the radius is below 1e-30 of the answer.

Members are not cut into elements. Their state y = (u, Q), seven motions and forces at the origin of the drawing, obeys
y' = Z y (see `_slope`), so that y(s) = exp(Z s) y(0) plus what jumps on the way. Unknown are the state at the start of each
member, the motions of blocks and one force a joint component; equations are the free end of each member, the balance of
each block and the law of each component (method of initial parameters). Rigid is compliance zero, free is no force.

Sections are their `SectionStiffness.matrix`. Without a warping constant warping is released: no bimoment, no secondary
torque. Across a change of section f w is continuous, w = sqrt(EGamma/EA) the root mean square of the warping function; a
neighbour that does not warp holds the section plane.
"""

from __future__ import annotations

import collections
import contextlib
import functools
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from flint import arb, arb_mat, ctx

from strongback.machine.values import GROUND, Joint, Machine, Member, Pull, Support

PRECISIONS = tuple(2**n for n in range(8, 15))  # bits, tried one after the other
ENOUGH = 2.0**-100  # radius over the largest answer of its kind
ZERO = 1e-10  # of the load: a force that small does not open a part
FAR = 1e10  # times the motion with all parts held: nothing but the rounding of places holds what goes so far
F, B = 6, 13  # places of the warping amplitude and the bimoment in the state
ROOM = tuple([arb(i == k) for k in range(3)] for i in range(3))

Row = list[arb]
Wrenches = list[tuple[Any, list[tuple[int, Row]]]]  # (point, [(column, force and couple in machine axes)])


class UndeterminedError(ArithmeticError):
    """Something moves without effort, or forces between rigid parts are not unique."""


@dataclass(frozen=True, kw_only=True)
class Truth:
    """One column a pull and then one a misfit: motions of the tool against the work (6), gauges, forces of all components
    that are not free (owner, index 0..5), forces of the ground (supports, 6), largest motion of any point."""

    machine: Machine
    components: tuple[tuple[str, int], ...]
    tool: np.ndarray
    gauges: np.ndarray
    forces: np.ndarray
    reactions: np.ndarray
    largest: np.ndarray
    balls: tuple[list[Row], list[Row]]  # tool and gauges, forces


def solve(machine: Machine, misfits: Sequence[tuple[str, int]] = ()) -> Truth:
    """Every pull of a machine, and every named component open by one unit beyond its compliance."""
    for bits in PRECISIONS:
        with contextlib.suppress(ZeroDivisionError), ctx.workprec(bits):
            truth = _System(machine, list(misfits)).solved()
            if _sharp(truth):
                return truth
    raise UndeterminedError(machine.name)


def _sharp(truth: Truth) -> bool:
    columns = [column for kind in truth.balls for column in zip(*kind)]
    sizes = [ENOUGH * max(float(abs(v.mid())) for v in column) for column in columns]
    return all(float(v.rad()) <= size < math.inf for column, size in zip(columns, sizes) for v in column)


def vec(values: Sequence[float]) -> Row:
    return [arb(float(v)) for v in values]


def minus(a: Sequence[Any], b: Sequence[Any]) -> Row:
    return [arb(x) - arb(y) for x, y in zip(a, b)]


def dot(a: Sequence[Any], b: Sequence[Any]) -> arb:
    return sum((x * y for x, y in zip(a, b)), arb(0))


def cross(a: Row, b: Row) -> Row:
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def unit(a: Row) -> Row:
    return [x / dot(a, a).sqrt() for x in a]


def times(a: Sequence[Row], b: Sequence[Row]) -> list[Row]:
    return (arb_mat(a) * arb_mat(b)).tolist()


def rounded(rows: Sequence[Row], columns: int) -> np.ndarray:
    return np.array([[float(v.mid()) for v in row] for row in rows]).reshape(len(rows), columns)


def carried(axes: Sequence[Row], arm: Row) -> list[Row]:
    """Motions of a point at `arm` (machine axes) from those of a rigid thing in its own axes (rows of `axes`), 6 x 6."""
    rows = [[arb(0)] * 6 for _ in range(6)]
    for k, axis in enumerate(axes):
        for i, turned in enumerate(cross(axis, arm)):
            rows[i][k], rows[i][3 + k], rows[3 + i][3 + k] = axis[i], turned, axis[i]
    return rows


def section_matrix(section: Any, member: Member) -> arb_mat:
    """Forces from strains at the origin, with the factors of the member on the strains at centroid and shear centre."""
    (xc, yc), (xs, ys) = vec(section.centroid), vec(section.shear_centre)
    own, root = (arb_mat(8, 8, [float(i == k) for i in range(8) for k in range(8)]) for _ in range(2))
    own[2, 3], own[2, 4], own[0, 5], own[1, 5] = yc, -xc, -ys, xs
    names = ("shear", "shear", "axial", "bending", "bending", "torsion", "warping", "warping")
    for i, name in enumerate(names):
        root[i, i] = arb(dict(member.factors).get(name, 1.0)).sqrt()
    scale = own.inv() * root * own
    return scale.transpose() * arb_mat([vec(row) for row in section.matrix]) * scale


def warps(section: Any) -> bool:
    return section.matrix[7][7] > 0


def amplitude(section: Any) -> arb:
    """w, the root mean square of the warping function, weighted by the modulus [m²]; no factor of stiffness changes it."""
    return (arb(section.matrix[7][7]) / arb(section.matrix[2][2])).sqrt()


def _slope(D: arb_mat) -> arb_mat:
    """Z of y' = Z y, y = (ux, uy, us, rx, ry, rs, f, Vx, Vy, N, Mx, My, T, B).

    With e = S F the strains of the section from its forces F = (Vx, Vy, N, Mx, My, T - T2, T2, B), the secondary torque
    follows from gamma_w = tau - f:  n'e = -f, n = e_6 - e_5, so  T2 = -(f + n'S F0) / n'S n  with F0 the forces at T2 = 0.
    Balance of a slice: V' = N' = T' = 0, Mx' = Vy, My' = -Vx, B' = -T2.
    """
    full = bool(D[7, 7] > 0)
    size = 8 if full else 7
    S = arb_mat([[D[i, k] for k in range(size)] for i in range(size)]).inv()
    strain, torque = [[arb(0)] * 14 for _ in range(8)], [arb(0)] * 14  # e and T2 from y
    for i, k in itertools.product(range(size), range(size)):
        if k != 6:
            strain[i][B if k == 7 else 7 + k] = S[i, k]
    if full:
        n = [S[i, 6] - S[i, 5] for i in range(8)]
        torque = [(strain[5][y] - strain[6][y] - (y == F)) / (n[6] - n[5]) for y in range(14)]
        strain = [[e + n[i] * t for e, t in zip(row, torque)] for i, row in enumerate(strain)]
    Z = [*strain[:6], strain[7], *([arb(0)] * 14 for _ in range(6)), [-t for t in torque]]
    Z[0][4] += 1  # ux' = gamma_x + ry
    Z[1][3] -= 1  # uy' = gamma_y - rx
    Z[10][8], Z[11][7] = arb(1), arb(-1)
    return arb_mat(Z)


class _System:
    """Rows over the right sides (pulls, misfits) and then the unknowns; every row of `equations` is zero."""

    def __init__(self, machine: Machine, misfits: list[tuple[str, int]]) -> None:
        self.machine = machine
        self.right = self.used = len(machine.pulls) + len(misfits)
        holders = (*machine.joints, *machine.supports)
        self.components = [(h, i) for h in holders for i, k in enumerate(h.stiffness) if k > 0]
        room = sum(6 + 4 * len(m.spans) for m in machine.members) + 6 * len(machine.blocks)
        self.width = self.right + len(self.components) + room
        self.equations: list[Row] = []
        self.joined: list[tuple[Any, Row, Any]] = []
        self.motions: dict[tuple[str, Any], list[Row]] = {}
        self.columns = [self.unknown() for _ in self.components]
        loads = self._loads()
        for part in (*machine.members, *machine.blocks):
            (self._walk if isinstance(part, Member) else self._block)(part, loads[part.name])
        for (holder, i), column in zip(self.components, self.columns):
            law = self._opening(holder, i)
            law[column] -= 1 / arb(holder.stiffness[i]) if np.isfinite(holder.stiffness[i]) else 0
            if (holder.name, i) in misfits:
                law[len(machine.pulls) + misfits.index((holder.name, i))] -= 1
            self.equations.append(law)
        self._joins()

    def unknown(self) -> int:
        self.used += 1
        return self.used - 1

    def nothing(self, column: int | None = None) -> Row:
        return [arb(k == column) for k in range(self.width)]

    def _loads(self) -> dict[str, Wrenches]:
        """By part: every point that is asked for, with the wrenches that act there."""
        machine = self.machine
        found: Any = collections.defaultdict(dict)

        def note(part: str, at: Any, *jump: tuple[int, Row]) -> None:
            found[part].setdefault(tuple(at), []).extend(jump)

        for (holder, i), column in zip(self.components, self.columns):
            for part, sign in _ends(holder):  # a positive force closes an opening
                axis = [-sign * v for v in vec(holder.axes[i % 3])]
                note(part, holder.at, (column, [*axis, *vec([0] * 3)] if i < 3 else [*vec([0] * 3), *axis]))
        for column, pull in enumerate(machine.pulls):
            for part, sign in ((pull.part, 1), (pull.against, -1)):
                note(part, pull.at, (column, [sign * v for v in vec((*pull.force, *pull.couple))]))
        for place in (machine.tool, machine.work):
            note(place.part, place.at)
        for gauge in machine.gauges:
            note(gauge.part, gauge.at)
            note(gauge.reference, gauge.at if gauge.stand is None else gauge.stand)
        return collections.defaultdict(list, {part: list(points.items()) for part, points in found.items()})

    def _walk(self, member: Member, points: Wrenches) -> None:
        """A member from start to end; its state as rows over right sides and unknowns."""
        run = minus(member.end, member.start)
        length, s = dot(run, run).sqrt(), unit(run)
        x = vec(member.x_axis)
        x = unit(minus(x, [dot(x, s) * v for v in s]))
        axes, stops = (x, cross(s, x), s), []
        for at, jumps in points:
            along = dot(minus(at, member.start), s)
            along = arb(0) if along < 0 else length if along > length else along
            arm = minus(minus(at, member.start), [along * v for v in s])
            stops.append((along, carried(axes, arm), at, jumps))
        stops.sort(key=functools.cmp_to_key(lambda a, b: -1 if a[0].mid() < b[0].mid() else 1))
        sections = [dict(self.machine.sections)[span.section] for span in member.spans]
        y = [self.nothing(self.unknown() if k < 6 else None) for k in range(14)]
        here = far = arb(0)
        for k, span in enumerate(member.spans):
            last = k == len(member.spans) - 1
            far = length if last else far + arb(span.length)
            section, before = sections[k], sections[k - 1]
            if k == 0:
                self._start(y, section, member.ends[0], member.start, s)
            elif warps(before) and warps(section):  # f w and B / w go on
                ratio = amplitude(before) / amplitude(section)
                y[F], y[B] = [v * ratio for v in y[F]], [v / ratio for v in y[B]]
            else:
                self._end(y, before, "held")
                self._start(y, section, "held")
            slope = _slope(section_matrix(section, member))
            while stops and (last or stops[0][0] < far):
                there, carry, at, jumps = stops.pop(0)
                y, here = _gone(y, slope, there - here), there
                self.motions[member.name, at] = times(carry, y[:6])
                for column, wrench in jumps:
                    for i in range(6):
                        y[7 + i][column] -= dot([row[i] for row in carry], wrench)
            y, here = _gone(y, slope, far - here), far
        self._end(y, sections[-1], member.ends[1], member.end, s)
        self.equations += y[7:13]

    def _start(self, y: list[Row], section: Any, kind: str, at: Any = None, s: Any = None) -> None:
        y[F] = self.nothing(self.unknown() if warps(section) and kind in ("free", "joined") else None)
        y[B] = self.nothing(self.unknown() if warps(section) and kind in ("held", "joined") else None)
        if kind == "joined":
            self.joined.append((at, s, section, y[F], y[B]))

    def _end(self, y: list[Row], section: Any, kind: str, at: Any = None, s: Any = None) -> None:
        if kind == "joined":
            self.joined.append((at, s, section, y[F], [-v for v in y[B]]))
        elif warps(section):
            self.equations.append(y[F if kind == "held" else B])

    def _joins(self) -> None:
        """f w is common to all ends that meet, drawn either way; the bimoments on them, over w, add to nothing."""
        left = list(range(len(self.joined)))
        while left:
            near = [k for k in left if _meets(self.joined[k], self.joined[left[0]])]
            left = [k for k in left if k not in near]
            ends = [self.joined[k][2:] for k in near if warps(self.joined[k][2])]
            fs = [[v * amplitude(section) for v in f] for section, f, _ in ends]
            if len(ends) < len(near):  # one of them does not warp: a plane section for all
                self.equations += fs
            else:
                bs = [[v / amplitude(section) for v in b] for section, _, b in ends]
                self.equations += [minus(f, fs[0]) for f in fs[1:]]
                self.equations.append([sum(column, arb(0)) for column in zip(*bs)])

    def _block(self, block: Any, loads: Wrenches) -> None:
        own = [self.nothing(self.unknown()) for _ in range(6)]
        balance = [self.nothing() for _ in range(6)]
        for at, jumps in loads:
            carry = carried(ROOM, minus(at, block.at))
            self.motions[block.name, at] = times(carry, own)
            for column, wrench in jumps:
                for i in range(6):
                    balance[i][column] += dot([row[i] for row in carry], wrench)
        self.equations += balance

    def motion(self, part: str, at: Any) -> list[Row]:
        return [self.nothing() for _ in range(6)] if part == GROUND else self.motions[part, tuple(at)]

    def _opening(self, holder: Joint | Support, i: int) -> Row:
        axis, first = [vec(holder.axes[i % 3])], i // 3 * 3
        moved = [times(axis, self.motion(part, holder.at)[first : first + 3])[0] for part, _ in _ends(holder)]
        return moved[0] if len(moved) == 1 else minus(*moved[::-1])

    def _answers(self) -> list[Row]:
        places = [self.motion(place.part, place.at) for place in (self.machine.tool, self.machine.work)]
        rows = [minus(a, b) for a, b in zip(*places)]
        for gauge in self.machine.gauges:
            foot = gauge.at if gauge.stand is None else gauge.stand
            stand = times(carried(ROOM, minus(gauge.at, foot)), self.motion(gauge.reference, foot))
            moved = [minus(a, b) for a, b in zip(self.motion(gauge.part, gauge.at)[:3], stand)]
            rows += times([unit(vec(gauge.direction))], moved)
        return rows

    def solved(self) -> Truth:
        r, end, machine = self.right, self.used, self.machine
        A, right = ([row[a:b] for row in self.equations] for a, b in ((r, end), (0, r)))
        whole = [[arb(i == k) for k in range(r)] for i in range(r)] + arb_mat(A).solve(
            -arb_mat(right)
        ).tolist()
        motions = times([row[:end] for row in self._answers()], whole)
        every = times([row[:end] for rows in self.motions.values() for row in rows], whole)
        forces = [whole[column] for column in self.columns]
        reactions = np.zeros((len(machine.supports), 6, r))
        for (holder, i), row in zip(self.components, rounded(forces, r)):
            if isinstance(holder, Support):
                axis = np.kron(np.eye(2)[i // 3], holder.axes[i % 3])
                reactions[machine.supports.index(holder)] -= np.outer(axis, row)
        return Truth(
            machine=machine,
            components=tuple((holder.name, i) for holder, i in self.components),
            tool=rounded(motions[:6], r),
            gauges=rounded(motions[6:], r),
            forces=rounded(forces, r),
            reactions=reactions,
            largest=np.abs(rounded(every, r)).max(axis=0),
            balls=(motions, forces),
        )


def _gone(y: list[Row], slope: arb_mat, h: arb) -> list[Row]:
    return y if h.contains(0) else ((slope * h).exp() * arb_mat(y)).tolist()


def _ends(holder: Any) -> tuple[tuple[str, int], ...]:
    """Parts of a joint or support, with the sign of their motion in its opening."""
    return ((holder.part, 1),) if isinstance(holder, Support) else tuple(zip(holder.parts, (-1, 1)))


def _meets(end: Any, other: Any) -> bool:
    return math.dist(end[0], other[0]) < 1e-6 and bool(abs(dot(end[1], other[1])) > 0.999)


def states(machine: Machine, pull: Pull, laws: dict[Any, Any]) -> list[tuple[np.ndarray, list[str]]]:
    """All states that a machine can be in under a pull: motions of tool and gauges, and a word a law of (owner, index).

    A law with a `gap` has play of that width; any other is one-sided: `sign` q stays below `preload`, and at that force the
    component opens, `sign` d >= 0. A state says which misfits are free; only those are tried in which the forces q0 - P d
    determine them (there is one wherever there is any). None: nothing holds.
    """
    truth = solve(replace(machine, pulls=(pull,)), list(laws))
    motions, forces = truth.balls
    forces = [forces[truth.components.index(name)] for name in laws]
    points = [h.at for h in (*machine.joints, *machine.supports)] + [pull.at]
    length = max(float(np.ptp(points, axis=0).max()), 1e-3)
    load = float(np.abs(pull.force).max() + np.abs(pull.couple).max() / length)
    zero, found = [ZERO * load * (length if i > 2 else 1.0) for _, i in laws], []
    for loose, d in _candidates(list(laws.values()), forces):
        q = [row[0] + dot(row[1:], d) for row in forces]
        words = [_word(law, k in loose, q[k], d[k], zero[k]) for k, law in enumerate(laws.values())]
        moved = rounded([[row[0] + dot(row[1:], d)] for row in motions], 1)[:, 0]
        if all(words) and max(float(abs(v.mid())) for v in d) < FAR * truth.largest[0]:
            found.append((moved, words))
    return found


def _candidates(laws: list[Any], forces: list[Row]) -> Iterator[tuple[Sequence[int], Row]]:
    """Misfits of every state: the loose components have the force of their limit, the others are at a stop."""
    gaps = [getattr(law, "gap", 0.0) for law in laws]
    limits = [0.0 if gap else law.sign * law.preload for law, gap in zip(laws, gaps)]
    shared = [not row[1 + k].contains(0) for k, row in enumerate(forces)]  # the rest follows from balance
    for choice in itertools.product(*((True, False) if others else (False,) for others in shared)):
        loose = [k for k, free in enumerate(choice) if free]
        stops = [(-0.5 * gap, 0.5 * gap) if gap and not free else (0.0,) for free, gap in zip(choice, gaps)]
        sides = [vec(side) for side in itertools.product(*stops)]
        if loose:
            own = arb_mat([[forces[i][1 + k] for k in loose] for i in loose])
            right = [[limits[i] - forces[i][0] - dot(forces[i][1:], side) for side in sides] for i in loose]
            try:
                opened = own.solve(arb_mat(right)).tolist()
            except ZeroDivisionError:  # nothing else holds these: no misfit of theirs changes a force
                continue
            for (m, i), (n, side) in itertools.product(enumerate(loose), enumerate(sides)):
                side[i] = opened[m][n]
        yield from ((loose, side) for side in sides)


def _word(law: Any, loose: bool, q: arb, d: arb, zero: float) -> str:
    """What the component does, or nothing if it may not."""
    if hasattr(law, "gap"):
        fits = abs(d) <= 0.5 * law.gap * (1 + 1e-12) if loose else q * (1 if d > 0 else -1) >= -zero
    else:
        fits = law.sign * d >= 0 if loose else law.sign * q <= law.preload + zero
    return ("loose" if loose else "held") if fits else ""
