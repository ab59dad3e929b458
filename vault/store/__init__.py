"""The vault on disk: git repository, YAML text, derived index, lock."""
