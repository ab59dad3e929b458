"""The logbook of an axis: everything that happened to it, of every kind."""
