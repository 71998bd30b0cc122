"""Filling a hollow member: from a bag of sand to a column that can be believed.

In the order of the work, one module each:

``voids``, ``packing``, ``grading``      how much room the grains leave, and which bags to blend
``recipe``                               grams per batch
``modulus``, ``bar``, ``cure``           what stiffness to expect, and what a test bar says of it at its age
``gap``, ``thermal``                     the gap at the wall and its knee; stress and bow of what is bonded
``pour``, ``heat``, ``balance``          pressure, bulge, temperature, layers, what is buried, lifting, tipping
``other_fills``, ``cautions``            grout, sand, shot, bars, foam; what can hurt, and whom to ask
``filling``, ``walls``, ``before_after`` the machine with its member filled, and the tool before and after

`mix.Mix` holds all that a person knows of a fill, `plan.plan_fill` takes it through the steps, and
`before_after.before_after` through the machine.
"""
