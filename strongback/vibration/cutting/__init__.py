"""The cut: its force, and how deep it may be before it feeds a vibration."""
