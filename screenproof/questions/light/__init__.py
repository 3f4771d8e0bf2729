"""Lights: whether one is fit to judge colours in."""
