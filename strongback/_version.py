"""Version of the package; the same stands in pyproject.toml."""

__version__ = "0.1.0"
