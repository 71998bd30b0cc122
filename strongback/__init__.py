"""Find out why a small machine tool gives, and what to do about it."""

__version__ = "0.1.0"
