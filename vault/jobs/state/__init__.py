"""A parameter set that a selector stands for, its comparison and its plausibility."""
