"""A portion of complete files: each is read, all are recorded together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.intake.read_for_axis import families_of
from vault.jobs.intake.take_in_once import take_in_once
from vault.model.errors import Damaged, Unavailable, VaultError
from vault.model.internal_errors import internal_error
from vault.model.visible_text import escaped
from vault.store.files.snapshot_text import digest
from vault.store.recorder import Recorder, recording

if TYPE_CHECKING:
    from vault.jobs.intake.planned import Planned
    from vault.jobs.intake.report import Ingested
    from vault.jobs.watch.drop_folder import DropFolder
    from vault.jobs.watch.settling import Stamp
    from vault.model.watch_rules import WatchRules
    from vault.store.vault import FamilyFile, Vault


@dataclass(slots=True)
class CompleteFile:
    """A complete file as it was read, and what became of it.

    `refusal` is why it cannot be taken in, `waits_for` what is wrong with the vault for its axis.
    `ingested` stays None where the vault had it already, and for these two.
    """

    path: Path
    stamp: Stamp
    content: bytes | None = None
    sha256: str | None = None
    planned: Planned | None = None
    ingested: Ingested | None = None
    refusal: VaultError | None = None
    waits_for: VaultError | None = None


def read_complete(
    folder: DropFolder, path: Path, stamp: Stamp, rules: WatchRules | None, by: str
) -> CompleteFile | None:
    """Read a file that looks as its stamp says; None where it does not any more.

    Raises OSError where it cannot be read, FileNotFoundError where it is gone.
    """
    file = CompleteFile(path, stamp)
    source = folder.root / path
    with source.open("rb"):
        pass
    try:
        file.planned = folder.plan(path, rules, by)
        file.content = read_content(source)
        file.sha256 = digest(file.content)
    except VaultError as error:
        if isinstance(error.__cause__, OSError):
            raise error.__cause__ from None
        file.refusal = error
    return file if folder.stamp(path) == stamp else None


def record_portion(vault: Vault, files: Sequence[CompleteFile]) -> None:
    """Record files: all of them that can be, or none where the vault gives out.

    The vault must be held for writing. Raises Unavailable, and Damaged where all is.
    """
    families = families_of(vault)
    with recording(vault) as recorder:
        for file in files:
            _record(vault, recorder, file, families)


def record_each(vault: Vault, files: Sequence[CompleteFile]) -> None:
    """Record files as `record_portion`; one at which the program itself fails is refused."""
    try:
        record_portion(vault, files)
    except (VaultError, OSError):
        raise
    except Exception as error:
        for file in files:  # nothing was recorded
            file.ingested = file.refusal = file.waits_for = None
        if len(files) == 1:
            files[0].refusal = internal_error(error, escaped(files[0].path))
            return
        middle = len(files) // 2
        record_each(vault, files[:middle])
        record_each(vault, files[middle:])


def _record(
    vault: Vault, recorder: Recorder, file: CompleteFile, families: Mapping[str, FamilyFile]
) -> None:
    if file.planned is None or file.content is None:
        return
    try:
        file.ingested = take_in_once(vault, recorder, file.planned, file.content, families)
    except Unavailable:
        raise
    except Damaged as error:  # the vault's fault, at this axis only perhaps
        file.waits_for = error
    except VaultError as error:
        file.refusal = error
