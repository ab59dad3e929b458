"""What a difference means: scaling, comparison, consequences."""
