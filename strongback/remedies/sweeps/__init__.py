"""Sweeps: many points of a model, drawn, solved by any engine, kept in one file, taken up again where they stopped."""
