"""Traces against simulated axes: what is told of them, and whether it is true."""
