"""The axis record as a form: its fields, what was typed into them, what follows, and the file."""
