"""Screens: a display fitted to its readings, what a display is, and a screen held against a standard."""
