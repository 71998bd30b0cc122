"""The exact dynamic stiffness of a machine of beams, and how many of its modes lie below a frequency.

A length obeys F' = -G' D e - w² M u, F = B' D e, e = B u' - G u with the strains of `strongback.section.values`; its
transfer matrix is a matrix exponential. A short piece is doubled again and again: every negative pivot of a middle that is
taken out is a mode of the length with its ends held (Wittrick & Williams, Quart. J. Mech. Appl. Math. 24 (1971) 263).
"""

from __future__ import annotations

import numpy as np
import scipy.linalg

from strongback.machine.layout import section_matrix, span_at
from strongback.machine.loop import assembly
from strongback.machine.mass import with_warping
from strongback.machine.statics import beam

HALVINGS = 7

# e = B u' - G u of u = (ux, uy, us, rx, ry, rs, f)
B = np.zeros((8, 7))
B[range(6), range(6)] = 1.0
B[6, 5] = B[7, 6] = 1.0
G = np.zeros((8, 7))
G[0, 4], G[1, 3], G[6, 6] = 1.0, -1.0, 1.0


def length_stiffness(D, M, h, w):
    """Dynamic stiffness of a length (14 or 12 motions of its two ends), and its modes with held ends below w."""
    if beam.has_warping(D):
        b, g, own, mass = B, G, D, M
    else:
        b, g = B[:6, :6], G[:6, :6]
        own, mass = np.linalg.inv(beam.compliance(D)[:6, :6]), M[:6, :6]
    n = b.shape[1]
    s = b.T @ own @ b
    slope = np.linalg.solve(s, b.T @ own @ g)
    A = np.zeros((2 * n, 2 * n))
    A[:n, :n], A[:n, n:] = slope, np.linalg.inv(s)
    # F' = -G'D(Bu' - Gu) - w² M u
    A[n:, :n] = g.T @ own @ g - g.T @ own @ b @ slope - w**2 * mass
    A[n:, n:] = -g.T @ own @ b @ A[:n, n:]
    size = np.concatenate([np.ones(n), np.diag(s)])
    T = scipy.linalg.expm(A * size[None, :] / size[:, None] * h / 2**HALVINGS) * size[:, None] / size[None, :]
    uu, uf, fu, ff = T[:n, :n], T[:n, n:], T[n:, :n], T[n:, n:]
    back = np.linalg.inv(uf)
    Z = np.block([[back @ uu, -back], [fu - ff @ back @ uu, ff @ back]])
    Z[n:, :n] = -back.T
    Z, inner = 0.5 * (Z + Z.T), 0
    for _ in range(HALVINGS):
        middle = Z[n:, n:] + Z[:n, :n]
        inner = 2 * inner + int(np.sum(np.linalg.eigvalsh(middle) < 0.0))
        outer = np.block([[Z[:n, n:], np.zeros((n, n))]])  # from first end to middle
        reach = np.hstack([outer[:, :n].T, Z[n:, :n].T])
        Z = scipy.linalg.block_diag(Z[:n, :n], Z[n:, n:]) - reach.T @ np.linalg.solve(middle, reach)
        Z = 0.5 * (Z + Z.T)
    return Z, inner


def dynamic_stiffness(machine, parts, frequency, loss=0.0):
    """On the motions that open no rigid joint, these, and modes of lengths with held ends below the frequency [Hz].

    `loss` is that of joints and supports.
    """
    made = assembly(machine, parts)
    w, size = 2.0 * np.pi * frequency, made.layout.size
    Z, inner = np.zeros((size, size), dtype=complex if loss else float), 0
    members = {m.name: m for m in machine.members}
    for name, line in made.layout.stations.items():
        turn = scipy.linalg.block_diag(line.axes, line.axes, 1.0)
        both = scipy.linalg.block_diag(turn, turn)
        for i, (low, high) in enumerate(zip(line.s[:-1], line.s[1:], strict=True)):
            section = parts.sections[span_at(members[name], 0.5 * (low + high))]
            D = section_matrix(section, members[name].factors)
            own, held = length_stiffness(D, with_warping(section), high - low, w)
            inner += held
            n = len(own) // 2
            used = np.r_[0:n, 7 : 7 + n]
            columns = line.columns[i : i + 2].ravel()
            whole = np.zeros((14, 14))
            whole[np.ix_(used, used)] = own
            whole = both.T @ whole @ both
            here = columns >= 0
            Z[np.ix_(columns[here], columns[here])] += whole[np.ix_(here, here)]
    for component in made.components:
        if component.compliance > 0.0:
            spring = (1.0 + 1j * loss if loss else 1.0) / component.compliance
            Z += np.outer(component.row, component.row) * spring
    for mass in machine.masses:
        rows = made.layout.motion_of(mass.part, mass.at)
        Z -= w**2 * rows.T @ np.diag([mass.mass] * 3 + list(mass.inertia)) @ rows
    rigid = [c.row[None] for c in made.components if c.compliance == 0.0]
    rows = np.vstack([np.zeros((0, size)), *rigid, *(tie.rows(size) for tie in made.ties)])
    free = scipy.linalg.null_space(rows) if len(rows) else np.eye(size)
    return free.T @ Z @ free, free, inner


def modes_below(machine, parts, frequency):
    """How many natural frequencies lie below one [Hz]."""
    Z, _, inner = dynamic_stiffness(machine, parts, frequency)
    scale = 1.0 / np.sqrt(np.abs(np.diag(Z)))
    return inner + int(np.sum(np.linalg.eigvalsh(Z * np.outer(scale, scale)) < 0.0))
