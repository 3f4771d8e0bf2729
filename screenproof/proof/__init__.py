"""Where light that adds meets matter that takes away: match, gamut, shift, tolerance, verdict."""
