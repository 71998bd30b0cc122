"""Forces beside motions: the statics of a loop, its self-stresses, and what a compliance does to them.

Arrays in, arrays out: nothing here knows members, joints or names.
"""
