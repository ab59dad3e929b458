"""What the load falls on: a copy of a vault of many axes, with accounts for those who write."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from tests.bench import bulk, growth
from tests.bench.stage import PARAMETERS
from vault.jobs.accounts.accounts import add_account
from vault.model.names import Address
from vault.store.vault import Vault

PASSWORD = "plum tea on the loom"

_ADMIN = "Bench <bench@localhost>"


@contextmanager
def fleet(folder: Path, axes: int) -> Iterator[Path]:
    """A folder with a copy of the vault in `vault`: it is made once, and kept for the next time.

    The copy is deleted, unless the block says to `keep` it by a file of that name.
    """
    folder.mkdir(parents=True, exist_ok=True)
    kept = folder / f"axes-{axes}"
    if not kept.exists():  # made elsewhere, so that one that is not whole is never taken for it
        with tempfile.TemporaryDirectory(prefix="making-", dir=folder) as making:
            growth.fleet(Path(making), axes).rename(kept)
    place = Path(tempfile.mkdtemp(prefix="load-", dir=folder))
    try:
        shutil.copytree(kept, place / "vault")
        yield place
    finally:
        if not (place / "keep").exists():
            shutil.rmtree(place, ignore_errors=True)


def person(name: str) -> str:
    """Who writes under the name of an account."""
    return f"{name.title()} <{name}@tileworks.example>"


def add_writers(vault: Path, names: list[str]) -> None:
    """An account for each of those who write in a browser."""
    for name in names:
        add_account(vault / "axisvault", name, person(name), "technician", PASSWORD, by=_ADMIN)


def axes_of(vault: Path) -> list[Address]:
    """All axes of it."""
    with Vault.open(vault) as opened:
        return list(opened.index.axes())


@dataclass(frozen=True, slots=True)
class NewExport:
    """An export that the vault does not have yet."""

    axis: Address
    export: bulk.Export

    @property
    def digest(self) -> str:
        """By what its record names it."""
        return sha256(self.export.content).hexdigest()


class NewExports:
    """The next export of one axis after the other: the third of each, then the fourth."""

    def __init__(self, axes: int) -> None:
        self._axes = axes
        self._rows = bulk.parameters(PARAMETERS)

    def at(self, number: int) -> NewExport:
        """The export of that number."""
        more, axis = divmod(number, self._axes)
        export = list(bulk.exports_of(self._rows, axis, growth.VISITS + 1 + more))[-1]
        return NewExport(Address(export.machine, export.axis), export)
