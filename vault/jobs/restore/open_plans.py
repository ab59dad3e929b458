"""Plans that were made and not signed off, of the whole vault, each with its next step."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from vault.jobs.restore.sign_off import last_check
from vault.model.errors import VaultError
from vault.model.remembered import EACH_AXIS, Remembered
from vault.store.files.restore_text import read_restore

if TYPE_CHECKING:
    from vault.jobs.restore.check import Checked
    from vault.model.names import Address
    from vault.model.restore import RestoreRecord
    from vault.store.vault import Vault

Step = Literal["load", "put_right", "sign_off"]
STEP_WORDS: dict[Step, str] = {
    "load": "load the file by the sheet, then export again",
    "put_right": "put right what is left, then export again",
    "sign_off": "sign it off",
}
_READ = Remembered[str, "RestoreRecord | None"](EACH_AXIS)
_STEPS = Remembered[tuple[str, str], Step](EACH_AXIS)


@dataclass(frozen=True, slots=True)
class OpenPlan:
    """A plan that waits for somebody."""

    address: Address
    record: RestoreRecord
    step: Step

    @property
    def next_step(self) -> str:
        """What is to be done next, in words."""
        return STEP_WORDS[self.step]


def open_plans(vault: Vault, only: Address | None = None) -> list[OpenPlan]:
    """Open plans, newest first; of one axis `only`, if it is named.

    What cannot be read is left out: `verify` and the axis's own pages tell it. Files and verdicts
    are remembered by the ids of what they rest on, so that a large site is quick to ask.
    """
    folders = vault.axis_folders()
    found = []
    for address, blob in vault.blobs_named("restore.yaml").items():
        if only is None or address == only:
            with suppress(VaultError):
                record = _open_record(vault, blob)
                if record is not None:
                    step = _step(vault, address, record, folders[address])
                    found.append(OpenPlan(vault.names.named(address), record, step))
    return sorted(found, key=lambda one: one.record.made_at, reverse=True)


def _open_record(vault: Vault, blob: str) -> RestoreRecord | None:

    def read() -> RestoreRecord | None:
        content = vault.repository.blob(blob) or b""
        if b"\nsigned-off:" in content:  # most are, and reading YAML is slow
            return None
        record = read_restore(content, "restore.yaml")
        return None if record.signed_off else record

    return _READ.of(blob, read)


def _step(vault: Vault, address: Address, record: RestoreRecord, folder: str) -> Step:
    """The next step, remembered as long as nothing in the folder of the axis changes."""
    return _STEPS.of((folder, record.id), lambda: next_step(last_check(vault, address)))


def next_step(checked: Checked | None) -> Step:
    """What is to be done next for a plan, after the check by the latest snapshot, if any."""
    if checked is None:
        return "load"
    return "sign_off" if checked.is_restored else "put_right"
