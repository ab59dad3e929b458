"""Pictures as SVG, made here: they print, need no script, and say in words what they show.

A module each; what they draw comes from `vault.jobs` and `vault.meaning` as plain data.
"""
