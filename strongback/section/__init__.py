"""The section of a member: outline, mesh, stiffness.

Axes and signs stand in `strongback.section.values`.
"""
