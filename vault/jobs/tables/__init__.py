"""The whole vault as one table of values over time, for engines made for size."""
