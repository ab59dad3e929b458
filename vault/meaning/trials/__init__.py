"""A trial: what is asked of an axis, and what the answers mean."""
