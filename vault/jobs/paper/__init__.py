"""Pages that people print."""
