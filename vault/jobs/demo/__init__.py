"""The example vault."""
