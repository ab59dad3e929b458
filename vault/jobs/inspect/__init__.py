"""Looking at what is kept: one set, its history, one value, many axes."""
