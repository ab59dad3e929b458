"""What a trace tells, and what became of an axis between two of them, in words."""
