"""Drafting from files on disk, with what a person says as `key=text`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vault.formats.describe.registry import describe
from vault.jobs.drafting.draft import Draft, ExportFile, draft
from vault.jobs.export.content import read_content
from vault.model.errors import WrongUsage
from vault.model.near_names import did_you_mean

if TYPE_CHECKING:
    from vault.model.names import Side
    from vault.store.vault import FamilyFile

ANSWERS = (
    "format", "encoding", "delimiter", "assign", "decimal", "thousands", "sheet", "record",
    "time_format",
)  # fmt: skip
"""Keys that a person may say, beside `columns.NAME` and `nameplate.LABEL`."""


def draft_files(
    exports: Sequence[Path],
    name: str,
    *,
    title: str = "",
    descriptions: Sequence[Path] = (),
    say: Iterable[str] = (),
    others: Iterable[FamilyFile] = (),
    side: Side = "drive",
) -> Draft:
    """Propose a dictionary from files. Raises what `draft` does, and for files that cannot be read.

    `say` are texts such as `decimal=,` and `columns.value=Setting`.
    """
    return draft(
        [ExportFile(read_content(path), str(path)) for path in exports],
        name,
        title=title,
        descriptions=[describe(read_content(path), str(path)) for path in descriptions],
        answers=dict(map(answer, say)),
        others=others,
        side=side,
    )


def answer(text: str) -> tuple[str, str]:
    """Key and text of what a person says. Raises WrongUsage for what is none."""
    key, there, said = text.partition("=")
    if not there:
        raise WrongUsage(f"{text!r} says nothing", hint="--say KEY=TEXT, as --say decimal=,")
    return check_key(key), said


def check_key(key: str) -> str:
    """Return the key of an answer. Raises WrongUsage for what is none."""
    if key not in ANSWERS and not key.startswith(("columns.", "nameplate.")):
        known = (*ANSWERS, "columns.code", "columns.value")
        raise WrongUsage(f"nothing is called {key!r}{did_you_mean(key, known)}")
    return key
