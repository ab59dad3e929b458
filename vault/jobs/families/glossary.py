"""The glossaries that come with the program: one file a language, found by itself."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from vault.store.files.edited_files import read_glossary

if TYPE_CHECKING:
    from vault.model.glossary import Glossary


@cache
def glossaries() -> tuple[Glossary, ...]:
    """All of them, English first. Raises Unreadable with file, line and key."""
    folder = files("vault.jobs.families") / "glossary"
    found = [
        read_glossary(file.read_bytes(), file.name)
        for file in sorted(folder.iterdir(), key=lambda file: file.name)
        if file.name.endswith(".yaml")
    ]
    return tuple(sorted(found, key=lambda glossary: (glossary.language != "en", glossary.language)))
