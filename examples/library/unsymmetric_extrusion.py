"""A bar of an unequal angle, pulled straight down, also moves sideways.

Sums over two rectangles (Steiner) give Ix, Iy and Ixy; a cantilever under P downwards then moves by P L³ Iy / 3E (Ix
Iy - Ixy²) down and by P L³ Ixy / 3E (Ix Iy - Ixy²) along x, and by a little more from shear. Timoshenko & Gere,
Mechanics of Materials, unsymmetric bending. Sizes are invented.
"""

import strongback as sb
from strongback.section.shapes import angle

h, b, t, length, pull = 0.080, 0.050, 0.008, 1.5, 50.0
steel = sb.material("steel")
solved = sb.analyse(angle(steel, h, b, t)).stiffness

rectangles = [(b, t, b / 2, t / 2), (t, h - t, t / 2, (h + t) / 2)]  # width, depth, middle
area = sum(w * d for w, d, _, _ in rectangles)
cx, cy = (sum(w * d * r[k] for r in rectangles for w, d in [r[:2]]) / area for k in (2, 3))
Ix = sum(w * d**3 / 12 + w * d * (y - cy) ** 2 for w, d, _, y in rectangles)
Iy = sum(d * w**3 / 12 + w * d * (x - cx) ** 2 for w, d, x, _ in rectangles)
Ixy = sum(w * d * (x - cx) * (y - cy) for w, d, x, y in rectangles)
assert abs(solved.EIx / (steel.E * Ix) - 1) < 1e-9
assert abs(solved.EIxy / (steel.E * Ixy) - 1) < 1e-9

tip = (solved.shear_centre[0], solved.shear_centre[1], length)  # through the shear centre: no twist
machine = sb.Machine(
    name="angle",
    sections={"angle": solved},
    members=[sb.Member(name="bar", start=(0, 0, 0), end=(0, 0, length), x_axis=(1, 0, 0), section="angle")],
    supports=[sb.Support(name="wall", part="bar", at=(0, 0, 0), stiffness="rigid")],
    pulls=[sb.Pull(name="down", part="bar", at=tip, force=(0, -pull, 0))],
    tool=("bar", tip),
    work=("ground", tip),
)
x, y, _ = sb.deflect(machine)["down"].deflection.tool_displacement
common = pull * length**3 / (3 * steel.E * (Ix * Iy - Ixy**2))
print(f"down {-1e3 * y:.3f} mm, and {1e3 * x:.3f} mm sideways")
assert abs(-y / (Iy * common) - 1) < 5e-3  # shear adds some 0.1 %
assert abs(x / (Ixy * common) - 1) < 5e-3
