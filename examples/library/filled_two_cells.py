"""A beam of two cells, one of them filled with mineral casting: what the fill adds.

EA and EI by the transformed section, each rectangle times its modulus (any book on strength of materials); the fill
is bonded and has its own centroid, so that Steiner's terms count. Sizes are invented.
"""

import strongback as sb

aluminium, mineral = sb.material("aluminium 6060"), sb.material("mineral casting")


def box(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


outer, left, right = box(0, 0, 0.1, 0.06), box(0.003, 0.003, 0.05, 0.057), box(0.053, 0.003, 0.097, 0.057)
empty = sb.from_rings("two cells", aluminium, outer, {"left": left, "right": right})
full = empty.with_fill("right", mineral)
before, after = sb.analyse(empty).stiffness, sb.analyse(full).stiffness


def sums(rings):
    """EA, E S, EIy about x = 0 of rectangles with their moduli."""
    rows = [(E, r[1][0] - r[0][0], r[2][1] - r[0][1], (r[0][0] + r[1][0]) / 2) for E, r in rings]
    return (
        sum(E * w * d for E, w, d, _ in rows),
        sum(E * w * d * x for E, w, d, x in rows),
        sum(E * (d * w**3 / 12 + w * d * x * x) for E, w, d, x in rows),
    )


EA, ES, EI = sums([(aluminium.E, outer), (-aluminium.E, left), (-aluminium.E, right), (mineral.E, right)])
print(f"EIy {before.EIy:.4g} -> {after.EIy:.4g} N m², torsion {before.GJ:.4g} -> {after.GJ:.4g} N m²")
assert abs(after.EA / EA - 1) < 1e-9
assert abs(after.centroid[0] / (ES / EA) - 1) < 1e-9
assert abs(after.EIy / (EI - ES**2 / EA) - 1) < 1e-9
assert after.GJ > before.GJ
