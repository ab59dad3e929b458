"""The index: what git holds, in SQLite for quick questions. Derived."""
