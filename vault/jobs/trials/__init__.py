"""Trials of an axis: the form, adding one, what came out of it, and where one is required."""
