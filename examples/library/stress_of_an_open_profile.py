"""Torque in an open profile: opposite on the two faces of a wall, nothing in its middle.

tau = 3 T/(b t²) on the faces of a thin wall, b the whole length of the walls (Timoshenko & Goodier, chapter 10), far
from ends and corners. In a closed box of the same wall it would be T/(2 A t), the same through the wall (Bredt).
Strength is not judged.
"""

from strongback.section.shapes import slit_tube
from strongback.section.stress import section_stress
from strongback.section.stress_state import stress_at, stress_under

r, t, T, near = 0.040, 0.002, 10.0, 0.98  # points just inside of the faces
profile = slit_tube("steel", 2 * r + t, t, 0.001)
state = stress_under(section_stress(profile), {"T": T})
outside, middle, inside = stress_at(state, [(-r - near * t / 2, 0), (-r, 0), (-r + near * t / 2, 0)])
length = 2 * 3.141592653589793 * r - 0.001
by_hand = near * 3 * T / (length * t**2)  # it grows evenly from the middle
print(
    f"{outside.shear[1] / 1e6:.2f}, {middle.shear[1] / 1e6:.2f}, {inside.shear[1] / 1e6:.2f} MPa through the wall"
)
print(f"by hand {by_hand / 1e6:.2f} MPa there")
assert abs(abs(outside.shear[1]) / by_hand - 1) < 0.05  # the wall is bent: r/t of 20
assert abs(abs(inside.shear[1]) / by_hand - 1) < 0.05
assert outside.shear[1] * inside.shear[1] < 0
assert abs(middle.shear[1]) < 0.05 * by_hand
