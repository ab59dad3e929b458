"""Why people did what they did: an approval or a restore plan, as its file gives the reasons."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from vault.jobs.state.selectors import by_id
from vault.model.errors import VaultError
from vault.store.files.golden_text import read_golden
from vault.store.files.restore_text import read_restore

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


class Reasons(NamedTuple):
    """What a file says of why; `of` tells one approval or plan from the next."""

    of: object = None
    sentences: tuple[str, ...] = ()

    def news(self, before: Reasons) -> tuple[str, ...]:
        """What was not said before of the same approval or plan."""
        known = before.sentences if self.of == before.of else ()
        return tuple(sentence for sentence in self.sentences if sentence not in known)


def approval_reasons(vault: Vault, address: Address, path: str, commit: str) -> Reasons:
    """What golden.yaml of a commit says of why the snapshot was approved, whole or not."""
    content = vault.read(path, commit)
    with suppress(VaultError):  # whoever needs the baseline tells it
        approval = read_golden(content, path).approval if content is not None else None
        if approval is not None:
            said = [*_doubts(vault, address, approval.snapshot)]
            if approval.reason:
                said.append(f"Reason: {approval.reason}")
            if approval.override_reason:
                said.append(f"Approved all the same: {approval.override_reason}")
            return Reasons((approval.snapshot, approval.at), tuple(said))
    return Reasons()


def restore_reasons(vault: Vault, address: Address, path: str, commit: str) -> Reasons:
    """What restore.yaml of a commit says of why a target was taken, or a restore signed off."""
    content = vault.read(path, commit)
    with suppress(VaultError):
        record = read_restore(content, path) if content is not None else None
        if record is not None:
            said = [f"Plan {record.number}.", *_doubts(vault, address, record.snapshot)]
            if record.override_reason:
                said.append(f"Restored all the same: {record.override_reason}")
            if record.signed_off is not None and record.signed_off.override_reason:
                said.append(f"Signed off all the same: {record.signed_off.override_reason}")
            return Reasons(record.id, tuple(said))
    return Reasons()


def _doubts(vault: Vault, address: Address, snapshot: str) -> Iterator[str]:
    """What a reader is told of a snapshot that is not the whole set, or may not be."""
    with suppress(VaultError):  # verify tells that it is not there
        for remark in by_id(vault, address, snapshot).record.told_coverage.told():
            yield str(remark)
