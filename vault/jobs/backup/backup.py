"""Everything of a vault in one file, what a clone does not take along too.

The witness is copied before the history: what it names is in there, whatever else is recorded
meanwhile. Databases are copied by SQLite itself, as they stand at one moment.
"""

from __future__ import annotations

import glob
import os
import shutil
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault import __version__
from vault.jobs.backup.contents import (
    DATABASES,
    HISTORY,
    MANIFEST,
    SYNCS,
    WITNESS,
    Manifest,
    Part,
    opened_backup,
)
from vault.jobs.backup.last import LastBackup, note_backup
from vault.model.errors import Damaged, Refused, Unavailable, VaultError, WrongUsage
from vault.store.clock import now
from vault.store.files.packed_file import digest_of, write_packed
from vault.store.git.exchange import bundle_into
from vault.store.git.history import is_ancestor
from vault.store.local.sqlite_file import FAILURES, copy_whole
from vault.store.proof.witness import FILE as WITNESS_FILE
from vault.store.proof.witness import expected_id

if TYPE_CHECKING:
    from vault.store.vault import Vault

_DRAFT = "draft"
_LEFTOVER_SECONDS = 24 * 3600.0


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was written: where, and what it says of itself."""

    file: Path
    size: int
    manifest: Manifest


def back_up(vault: Vault, path: Path) -> BackedUp:
    """Write everything into one file, whole or not at all, that only its owner may read.

    An older backup of the same vault is replaced. Raises Refused for a file that is anything else,
    WrongUsage within the vault, Unavailable where it cannot be written.
    """
    folder = vault.repository.path
    if path.resolve().is_relative_to(folder):
        raise WrongUsage(f"{path} lies in the vault itself", hint="name a file elsewhere")
    if path.is_symlink() or path.exists():
        _check_older(vault, path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _remove_leftovers(path)
        with tempfile.TemporaryDirectory(prefix=f".{path.name}-", dir=path.parent) as name:
            scratch = Path(name)
            manifest = _gathered(vault, scratch)
            draft = scratch / _DRAFT
            names = [MANIFEST, *(part.name for part in manifest.parts)]
            with draft.open("xb") as file:
                draft.chmod(0o600)
                write_packed(file, {each: scratch / each for each in names})
                file.flush()
                os.fsync(file.fileno())
            size = draft.stat().st_size
            draft.replace(path)
        _sync_folder(path.parent)
    except (OSError, Damaged, *FAILURES) as error:
        raise Unavailable(f"no backup can be written to {path}: {error}") from error
    note_backup(vault.state, LastBackup(manifest.made_at, str(path), manifest.snapshots))
    return BackedUp(path, size, manifest)


def _gathered(vault: Vault, scratch: Path) -> Manifest:
    """Copy what a backup holds into a folder, and write what it says of itself."""
    state, made_at, witness = vault.state, now(), expected_id(vault.repository)
    for name, source in ((WITNESS, vault.repository.path / WITNESS_FILE), (SYNCS, state / SYNCS)):
        with suppress(FileNotFoundError):
            (scratch / name).write_bytes(_whole_lines(source.read_bytes()))
    for name in DATABASES:
        if (state / name).exists():
            copy_whole(state / name, scratch / name)
    vault.refresh()
    bundle_into(scratch / HISTORY, vault.repository, vault.tip)
    names = (HISTORY, WITNESS, SYNCS, *DATABASES)
    files = [scratch / name for name in names if (scratch / name).exists()]
    parts = tuple(Part(file.name, file.stat().st_size, digest_of(file)) for file in files)
    manifest = Manifest(vault.site, made_at, vault.tip, vault.index.count(), witness, parts)
    (scratch / MANIFEST).write_bytes(manifest.text(__version__))
    return manifest


def _whole_lines(content: bytes) -> bytes:
    """Without a line that is being written, or was when a process was killed."""
    return content[: content.rfind(b"\n") + 1]


def _check_older(vault: Vault, path: Path) -> None:
    other = Refused(
        f"{path} is there already, and no older backup of this vault", hint="name a new file"
    )
    if not path.is_file() or path.is_symlink():
        raise other
    try:
        with opened_backup(path) as backup:
            known = backup.manifest
    except VaultError as error:
        raise other from error
    own = expected_id(vault.repository)
    commit = vault.repository.resolve(f"{known.tip}^{{commit}}")
    if known.witness != own or commit is None:
        raise other
    if not is_ancestor(vault.repository, commit, vault.tip):
        raise other


def _remove_leftovers(path: Path) -> None:
    """Remove what a backup to the same file left that was killed: hashes of passwords are in it."""
    ours = {_DRAFT, MANIFEST, HISTORY, WITNESS, SYNCS, *DATABASES}
    long_ago = now().timestamp() - _LEFTOVER_SECONDS
    for folder in path.parent.glob(f".{glob.escape(path.name)}-*"):
        with suppress(OSError):
            is_old = folder.is_dir() and folder.stat().st_mtime < long_ago
            if is_old and {file.name for file in folder.iterdir()} <= ours:
                shutil.rmtree(folder)


def _sync_folder(folder: Path) -> None:
    """Have the new name on the disk too, where the system can say so."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
