"""Exports made by hand, all of them invented, with what is to be read of each."""
