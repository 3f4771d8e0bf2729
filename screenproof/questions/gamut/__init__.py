"""Gamut: which samples a display can show, and how far it falls short of the others."""
