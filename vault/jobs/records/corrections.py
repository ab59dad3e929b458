"""Adding an entry to a list of corrections, of an axis or of a machine."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from vault.model.visible_text import one_line
from vault.store.clock import now
from vault.store.files.corrections_text import corrections_text

if TYPE_CHECKING:
    from datetime import datetime

    from vault.model.corrections import Correction
    from vault.store.vault import Vault


def next_moment(vault: Vault, path: str) -> datetime:
    """Now, but later than what was said before, whatever a clock was put to."""
    last = [entry.at + timedelta(microseconds=1) for entry in vault.corrections_in(path)[-1:]]
    return max([now(), *last])


def append(vault: Vault, path: str, entry: Correction, subject: str, vault_format: int) -> None:
    """Commit an entry at the end of a list, which programs of a format read.

    Call within `writing`.
    """
    vault.raise_format(entry.by, vault_format)
    text = corrections_text([*vault.corrections_in(path), entry])
    vault.write_files({path: text}, f"{subject}\n\n{one_line(entry.text)}\n", entry.by)
