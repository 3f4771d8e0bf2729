"""Overprints: transparent inks on each other, and the same inks on another stock."""
