"""Elastic parts: what a machine is made of, and the only room that asks whether a member is a beam or a body."""
