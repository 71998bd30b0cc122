"""A change of a machine as a value, and one before and after through it for whoever asks."""
