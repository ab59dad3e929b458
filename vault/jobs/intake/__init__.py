"""Taking exports in."""
