"""Printable: can this colour be printed, how far is the nearest, what stands in the way."""
