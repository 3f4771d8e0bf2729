"""Recipes: which components make a colour, what mends a batch that is off, how well a library fits."""
