"""Dictionaries of families from exports that nobody knows yet: glossaries, roles that may fit."""
