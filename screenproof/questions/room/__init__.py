"""Room: what the light of a room does to a screen and to a match on it, and how far to dim it."""
