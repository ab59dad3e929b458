"""A vault out of a backup, on the computer that it was made on or another one."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.alerts.confirm import unconfirmed_channels
from vault.jobs.backup.contents import DATABASES, HISTORY, SYNCS, WITNESS, Backup, opened_backup
from vault.jobs.sync.log import SyncEvent, note
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Unavailable, Unreadable, VaultError
from vault.model.written_form import minute_text
from vault.store.clock import now, time_text
from vault.store.files import layout
from vault.store.files.vault_format import check_format
from vault.store.git.exchange import fetched, partner_at
from vault.store.git.repository import BRANCH, Repository
from vault.store.local.accounts import Accounts
from vault.store.local.outbox import Outbox
from vault.store.proof import witness
from vault.store.vault import Vault

if TYPE_CHECKING:
    from vault.jobs.backup.contents import Manifest
    from vault.jobs.verify.outcome import Verified
    from vault.jobs.verify.verify import Progress


@dataclass(frozen=True, slots=True)
class Recovered:
    """A vault that was made from a backup.

    `unconfirmed` are channels of vault.yaml that are not used from this computer yet; `waiting` is
    how many messages wait to go out.
    """

    folder: Path
    manifest: Manifest
    verified: Verified
    accounts: int
    waiting: int
    unconfirmed: tuple[str, ...]


def recover(
    path: Path, folder: Path, by: str, progress: Progress = lambda done, total: None
) -> Recovered:
    """Make a vault from a backup in a new folder, whole or not at all, and verify it.

    Nobody is logged in to it, and no channel counts as confirmed: that was said on another day, and
    maybe on another computer. Raises Unreadable for a backup that is damaged or cut short, Refused
    for one of a newer program, WrongUsage where the folder is taken.
    """
    with opened_backup(path) as backup:

        def fill(repository: Repository) -> None:
            _fill(repository, backup, by)

        Repository.create(folder, fill).close()
        manifest = backup.manifest
    with Vault.open(folder) as vault:
        axes = len(vault.axes())
        partner = f"the backup {path.name} of {minute_text(manifest.made_at)}"
        count = vault.index.count()
        note(vault.state, SyncEvent(now(), by, "took", partner, vault.tip, count, axes))
        accounts = 0
        if Accounts.exist(vault.state):
            with Accounts(vault.state) as opened:
                accounts = len(opened.all())
        waiting = 0
        if Outbox.exists(vault.state):
            with Outbox(vault.state) as outbox:
                waiting = len(outbox.waiting())
        verified = verify(vault, progress)
        try:
            unconfirmed = tuple(unconfirmed_channels(vault))
        except VaultError:  # vault.yaml cannot be read: verify, or the next command, says so
            unconfirmed = ()
    return Recovered(folder, manifest, verified, accounts, waiting, unconfirmed)


def _fill(repository: Repository, backup: Backup, by: str) -> None:
    manifest, state = backup.manifest, repository.path / "axisvault"
    state.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=state) as scratch:
        bundle = Path(scratch) / HISTORY
        backup.copy(HISTORY, bundle)
        with fetched(repository, partner_at(str(bundle))) as tip:
            if tip != manifest.tip:
                raise Unreadable("its history is not the one that it names", file=backup.name)
            site = repository.read(tip, layout.VAULT)
            if site is None:
                raise Unreadable("it has no vault.yaml: this is no vault", file=backup.name)
            check_format(site, backup.name)
            if backup.copy(WITNESS, repository.path / witness.FILE) or manifest.witness is not None:
                # A vault whose witness is gone is no other one afterwards.
                witness.expect(repository, manifest.witness)
            try:
                witness.advance(repository, None, tip)
            except (
                Unavailable,
                Damaged,
            ):  # broken already: verify says so
                if repository.resolve(BRANCH) != tip:
                    raise
    backup.copy(SYNCS, state / SYNCS)
    for name in DATABASES:
        if backup.copy(name, state / name):
            (state / name).chmod(0o600)
    if Accounts.exist(state):
        with Accounts(state) as accounts:
            accounts.brought_back(f"from the backup of {time_text(manifest.made_at)}", by=by)
    if Outbox.exists(state):
        with Outbox(state) as outbox:
            outbox.forget_confirmations()
