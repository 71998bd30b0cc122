"""How the machine swings: natural modes with their errors, damping, response at the tool, and what a cut makes of it."""
