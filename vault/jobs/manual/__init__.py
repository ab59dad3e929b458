"""The manual: topics as Markdown within the program, readable and searchable without a network."""
