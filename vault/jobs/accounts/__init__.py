"""Accounts of the viewer."""
