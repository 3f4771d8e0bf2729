"""Match: the drive values that show a sample on a display, and what is left of the difference."""
