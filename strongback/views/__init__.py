"""Results as text tables, figures and mesh files: the only importers of matplotlib."""
