"""What can be done about a machine that gives: a catalogue of changes, their gains, and the best set of them, proved."""
