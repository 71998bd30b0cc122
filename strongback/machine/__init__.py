"""The structural loop: members, joints, blocks and bodies, assembled and solved.

Axes, signs and the values that describe a machine stand in `strongback.machine.values`.
"""
