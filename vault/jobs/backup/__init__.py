"""One file that holds all of a vault, and a vault out of such a file."""
