"""Files at the tip of the vault by git's ids: equal ones are told without loading them."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from typing import TYPE_CHECKING

from vault import __version__
from vault.model.errors import VaultError
from vault.model.golden import Golden
from vault.model.names import Address
from vault.store.clock import microseconds
from vault.store.files import layout
from vault.store.files.golden_text import read_golden

if TYPE_CHECKING:
    from vault.store.vault import Vault

_MANY = 8  # axes, from where it pays to start processes of git's for them


class TipFiles:
    """What the drift of some axes rests on at the tip of the vault.

    `latest` are the latest snapshots by axis: id, and taken-at in microseconds since 1970.
    """

    def __init__(self, vault: Vault, addresses: list[Address]) -> None:
        self._vault = vault
        self.site = vault.site_record
        if len(addresses) == 1:
            found = vault.latest(addresses[0])
            taken = microseconds(found.record.taken_at) if found else 0
            self.latest = {addresses[0]: (found.id, taken)} if found else {}
            self._folders: dict[Address, str] = {}
        else:
            machines = {address.machine for address in addresses}
            machine = machines.pop() if len(machines) == 1 else None
            self.latest = vault.index.latest_of_all(machine)
            self._folders = vault.axis_folders(machine)
        self._listed: tuple[str, ...] = ()  # folders of which this and what follows is read ahead
        self._blobs: dict[str, str] = {}
        self._golden: dict[str, Golden] = {}
        self._then: dict[str, str] = {}
        self._common = f"{__version__} {self.blob_at(vault.tip, layout.VAULT)}"

    def read_ahead(self, addresses: Sequence[Address]) -> None:
        """Fetch what assessing each of these asks git for: many at a time are quicker."""
        if len(addresses) < _MANY:
            return
        machines = {address.machine for address in addresses}
        if len(machines) < _MANY:
            folders = [f"{layout.MACHINES}/{machine}" for machine in sorted(machines)]
            listing = partial(self._vault.repository.list, self._vault.tip, recursive=True)
            entries = [entry for folder in folders for entry in listing(folder)]
            self._listed = tuple(f"{folder}/" for folder in folders)
        else:
            entries, self._listed = self._vault.machine_files(), (f"{layout.MACHINES}/",)
        self._blobs = {entry.path: entry.id for entry in entries}
        paths = [path for path in map(layout.golden_file, addresses) if path in self._blobs]
        with self._vault.repository.stream() as objects:
            texts = objects.contents(self._blobs[path] for path in paths)
            for path, text in zip(paths, texts, strict=True):
                with suppress(VaultError):  # whoever assesses the axis tells it
                    if text is not None:
                        self._golden[path] = read_golden(text, path)
        names = []
        for address in addresses:
            approval = self._golden.get(layout.golden_file(address), Golden()).approval
            if approval is not None:
                names.append(f"{approval.vault_at}:{layout.axis_file(address)}")
        with self._vault.repository.stream_ids() as ids:
            self._then = {n: one or "" for n, one in zip(names, ids.ids(names), strict=True)}

    def golden(self, address: Address) -> Golden:
        """The baseline of an axis; an empty one where there is none."""
        path = layout.golden_file(address)
        if path in self._golden:
            return self._golden[path]
        return self._vault.golden(address) if self.blob(path) else Golden()

    def blob(self, path: str) -> str:
        """Id of a file's content, empty where there is no such file."""
        if self._listed and path.startswith(self._listed):
            return self._blobs.get(path, "")
        return self.blob_at(self._vault.tip, path)

    def blob_at(self, commit: str, path: str) -> str:
        """Id of a file's content in a commit, empty where there was no such file."""
        name = f"{commit}:{path}"
        if name in self._then:
            return self._then[name]
        found = self._vault.repository.resolve(name)
        if found is None:
            self._vault.repository.check_absent(commit, path)
        return found or ""

    def read(self, path: str) -> bytes:
        """Content of a file, empty where there is none."""
        return (self._vault.read(path) or b"") if self.blob(path) else b""

    def fingerprint(self, address: Address, follows: Address | None) -> str:
        """Everything that the drift of an axis rests on, as ids in one text."""
        latest = self.latest.get(address, ("",))[0]
        found = f"{self._common} {self._folder(address)} {latest}"
        found = f"{found} {self._folder(follows)}" if follows else found
        names = (self._vault.names.named(one).known_as for one in (address, follows) if one)
        return " ".join((found, *filter(None, names)))  # sentences tell two axes apart by them

    def _folder(self, address: Address) -> str:
        """Id of everything in the folder of an axis, its record too; empty where there is none."""
        address = address.drive
        if address not in self._folders:
            self._folders[address] = self.blob_at(self._vault.tip, layout.folder(address))
        return self._folders[address]
