"""Compare: how far is the print from the target, in one light."""
