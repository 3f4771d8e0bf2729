"""Shift: how far colours part when the light changes: one object, a pair, an object and its screen match."""
