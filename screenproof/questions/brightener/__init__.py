"""Brightener: what samples with brightener do in lights with and without ultraviolet, at least and at most."""
