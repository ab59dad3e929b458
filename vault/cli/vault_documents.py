"""JSON of commands that make a vault, or rebuild what lies beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from pathlib import Path


class CreatedDocument(TypedDict):
    """A vault that was made: `create`."""

    vault: str
    """Its folder."""

    site: str
    """Name of its site."""


class ReindexedDocument(TypedDict):
    """An index that was rebuilt: `reindex`."""

    snapshots: int
    """How many snapshots it shows."""


def created_document(folder: Path, site: str) -> CreatedDocument:
    """A vault that was made."""
    return {"vault": str(folder), "site": site}


def reindexed_document(snapshots: int) -> ReindexedDocument:
    """An index that was rebuilt."""
    return {"snapshots": snapshots}
