"""Taking in what is dropped into a folder."""
