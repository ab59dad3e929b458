"""A dictionary from exports that nobody has one for: every guess with its reason."""
