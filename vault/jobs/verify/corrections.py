"""What people added about axes and machines afterwards: it is only ever added to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import Problem
from vault.model.errors import VaultError
from vault.model.written_form import minute_text
from vault.store.clock import CLOCKS_APART, now
from vault.store.files import layout
from vault.store.files.corrections_text import read_corrections
from vault.store.index.recorded import is_recorded

if TYPE_CHECKING:
    from vault.store.directory import Clash
    from vault.store.vault import Vault


def called_alike(clash: Clash) -> str:
    """That two are called the same, and what the program makes of it."""
    return f"{clash}: the name leads to {clash.holder}. Rename one of them."


def corrections_problems(
    vault: Vault, versions: Mapping[str, Sequence[str]], since: str | None = None
) -> Iterator[Problem]:
    """What is wrong with some lists of corrections at the tip, by path.

    They can be read, are about snapshots of their axis, and have every entry of the versions
    before, of which the blobs are given, and of the one in the commit `since`.
    """
    for path, blobs in versions.items():
        before = [vault.repository.blob(blob) for blob in blobs]
        if since is not None:
            before.append(vault.read(path, since))
        known = [content for content in before if content is not None]
        yield from _problems(vault, path, known)


def _problems(vault: Vault, path: str, versions: Iterable[bytes]) -> Iterator[Problem]:
    content = vault.read(path)
    if content is None:
        yield Problem("corrections", path, "the file was removed: entries are only ever added")
        return
    try:
        entries = read_corrections(content, path)
        before = {entry for version in versions for entry in read_corrections(version, path)}
    except VaultError as error:
        yield Problem("corrections", path, str(error))
        return
    for entry in sorted(before.difference(entries), key=lambda entry: (entry.at, entry.text)):
        day = minute_text(entry.at)
        yield Problem("corrections", path, f"the entry of {day} is gone or not as it was written")
    latest = now() + CLOCKS_APART
    for entry in entries:
        day = minute_text(entry.at)
        if entry.taken_at is not None and entry.taken_at > latest:
            yield Problem("corrections", path, f"the time of the entry of {day} is yet to come")
        if entry not in before:  # as of a merge that was made by hand
            yield Problem("corrections", path, f"no commit of its own made the entry of {day}")
        if entry.snapshot is not None and not _is_of(vault, path, entry.snapshot):
            details = f"it is about {entry.snapshot}, which is no snapshot of this axis"
            yield Problem("corrections", path, details)


def _is_of(vault: Vault, path: str, snapshot: str) -> bool:
    """Whether a snapshot is of the axis in whose folder corrections lie; a machine has none."""
    place = layout.place_of(path)
    sides = () if place is None else (place[0].drive, place[0].controller)
    return any(is_recorded(vault.repository, vault.tip, side, snapshot) for side in sides)
