"""Why a trial or trace of another copy does not hold here: approvals and restores rest on them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.store.clock import CLOCKS_APART, now
from vault.store.files import layout
from vault.store.files.trace_record_text import matches, read_trace_record
from vault.store.files.trial_text import read_kept_trial
from vault.store.git.history import is_ancestor
from vault.store.index.recorded import is_recorded

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def foreign_trial(
    vault: Vault, path: str, authors: Sequence[str], *, partner: str, tip: str
) -> tuple[str, str | None] | None:
    """What a file is of, `trial` or `trace`, and why it needs consent; None for any other file.

    `authors` wrote it there, in turn. Raises Damaged for a record that cannot be read.
    """
    if (place := layout.trace_of(path)) is not None:
        return "trace", _trace_objection(vault, *place, path, authors, partner, tip)
    place = layout.trial_of(path)
    if place is None or not path.endswith("/trial.yaml"):
        return None
    return "trial", _trial_objection(vault, place[0], path, authors, partner, tip)


def _trial_objection(
    vault: Vault, address: Address, path: str, authors: Sequence[str], partner: str, tip: str
) -> str | None:
    there = read_kept_trial(vault.read_required(path, tip), f"{partner}:{path}")
    if vault.read(path) is not None:
        return "it is not the trial that was added"
    if not is_recorded(vault.repository, tip, address, there.snapshot):
        return "what it belongs to is no snapshot of this axis"
    if not is_ancestor(vault.repository, there.vault_at, tip):
        return "it was added on a history that is not there"
    if there.taken_at > now() + CLOCKS_APART:
        return "it was tried at a time that is yet to come"
    return f"it was written {len(authors)} times" if len(authors) > 1 else None


def _trace_objection(
    vault: Vault,
    address: Address,
    name: str,
    path: str,
    authors: Sequence[str],
    partner: str,
    tip: str,
) -> str | None:
    record_path = f"{layout.trace_folder(address, name)}/trace.yaml"
    if vault.read(path) is not None or vault.read(record_path) is not None:
        return "it is not the trace that was kept"
    content = vault.read(record_path, tip)
    if content is None:
        return "it has no record"
    there = read_trace_record(content, f"{partner}:{record_path}")
    kept = vault.read(f"{layout.trace_folder(address, name)}/{there.file}", tip)
    if kept is None or not matches(there, kept):
        return "the recording is not the one that its record says"
    if not is_recorded(vault.repository, tip, address, there.snapshot):
        return "what it belongs to is no snapshot of this axis"
    if not is_ancestor(vault.repository, there.vault_at, tip):
        return "it was added on a history that is not there"
    if there.by not in authors[:1]:
        return f"it names {there.by}, and {(authors or ['nobody'])[0]} wrote it"
    if there.taken_at > now() + CLOCKS_APART:
        return "it was recorded at a time that is yet to come"
    return f"it was written {len(authors)} times" if len(authors) > 1 else None
