"""Approve: a colour that somebody approved on a screen, against the sample that is to be it."""
