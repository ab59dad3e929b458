"""JSON of backups."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.verify.documents import VerificationDocument, verification_document
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.backup.backup import BackedUp
    from vault.jobs.backup.recover import Recovered


class BackupPartDocument(TypedDict):
    """A file within a backup."""

    name: str
    """Its name there."""

    size: int
    """How many bytes it has."""

    sha256: str
    """Their SHA-256."""


class BackupDocument(TypedDict):
    """A backup that was written: `backup`."""

    file: str
    """Where it lies."""

    size: int
    """How many bytes it has."""

    site: str
    """Name of the site."""

    made_at: str
    """When it was made."""

    tip: str
    """The commit that the vault stood at."""

    snapshots: int
    """How many snapshots the vault had."""

    files: list[BackupPartDocument]
    """What lies in it, but for the list of it."""


class RecoveredDocument(TypedDict):
    """A vault that was made from a backup: `recover`."""

    vault: str
    """Its folder."""

    site: str
    """Name of the site."""

    made_at: str
    """When the backup was made: what came after it is not in this vault."""

    tip: str
    """The commit that it stands at."""

    accounts: int
    """How many accounts came back, as they were then."""

    waiting: int
    """How many messages wait to go out, as they did then."""

    unconfirmed: list[str]
    """Alert channels that are not used from this computer until somebody confirms them."""

    verification: VerificationDocument
    """The vault against itself and its witness."""


def backup_document(made: BackedUp) -> BackupDocument:
    """A backup that was written."""
    manifest = made.manifest
    return {
        "file": str(made.file),
        "size": made.size,
        "site": manifest.site,
        "made_at": time_text(manifest.made_at),
        "tip": manifest.tip,
        "snapshots": manifest.snapshots,
        "files": [{"name": p.name, "size": p.size, "sha256": p.sha256} for p in manifest.parts],
    }


def recovered_document(recovered: Recovered) -> RecoveredDocument:
    """A vault that was made from a backup."""
    manifest = recovered.manifest
    return {
        "vault": str(recovered.folder),
        "site": manifest.site,
        "made_at": time_text(manifest.made_at),
        "tip": manifest.tip,
        "accounts": recovered.accounts,
        "waiting": recovered.waiting,
        "unconfirmed": list(recovered.unconfirmed),
        "verification": verification_document(recovered.verified),
    }
