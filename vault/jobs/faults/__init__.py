"""The faults that axes tripped with."""
