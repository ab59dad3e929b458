"""Copies of a vault in step."""
