"""An export, from its bytes to a parameter set: what it is, what it lists, what that amounts to."""
