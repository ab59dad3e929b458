"""The vault against itself and its witness."""
