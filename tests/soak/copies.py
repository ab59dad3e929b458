"""The three copies of the vault, each on a disk of its own with a drop folder beside it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from tests.kills.full_disk import can_mount
from tests.soak.exports import AXES, FAMILY, Exports
from vault.jobs.accounts.accounts import add_account
from vault.jobs.alerts.confirm import confirm_channel
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family, set_site
from vault.jobs.sync.sync import give
from vault.model.names import Address
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
ROOT = Path(__file__).parents[2]
STARTUP = Path(__file__).parent / "startup"
_DISK = 2 * 2**30
_MOST_EVIDENCE = 6
_SITE = """\
schema: axisvault/vault/1
site: Tile works (invented)
approval: {{reason: true}}
alerts: [{{name: log, kind: file, path: {}}}]
"""


class Disk:
    """A disk that can be filled: a file system in memory whose size is changed."""

    def __init__(self, place: Path, *, own: bool) -> None:
        self.place, self.own = place, own
        place.mkdir()
        if own:
            mount = ["mount", "-t", "tmpfs", "-o", f"size={_DISK}", "tmpfs", str(place)]
            subprocess.run(mount, check=True)

    def fill(self, room: int) -> None:
        """Leave so many bytes."""
        found = os.statvfs(self.place)
        used = (found.f_blocks - found.f_bfree) * found.f_frsize
        self._resize(used + room)

    def free(self) -> None:
        """Have room again."""
        self._resize(_DISK)

    def _resize(self, size: int) -> None:
        if self.own:  # it fails where more came meanwhile: then it is as full as it was
            command = ["mount", "-o", f"remount,size={size}", str(self.place)]
            subprocess.run(command, check=False, capture_output=True)

    def close(self) -> None:
        """Give it back; what lay on it stays in the folder."""
        if self.own:
            kept = self.place.with_name(f"{self.place.name}-kept")
            shutil.copytree(self.place, kept, symlinks=True, ignore_dangling_symlinks=True)
            subprocess.run(["umount", "--lazy", str(self.place)], check=False)
            self.place.rmdir()
            kept.rename(self.place)


@dataclass(slots=True)
class Copy:
    """A copy of the vault: where it lies, who is asked in it, and what befalls it now.

    `troubles` counts when its disk became full or had room again, `steps` when its clock stepped:
    an act that meets one of them may be refused.
    """

    name: str
    disk: Disk
    clock: Path
    token: str = ""
    is_full: bool = False
    ahead: float = 0.0
    troubles: int = 0
    steps: int = 0

    @property
    def plant(self) -> Path:
        """The vault."""
        return self.disk.place / "plant"

    @property
    def drop(self) -> Path:
        """The folder that is watched."""
        return self.disk.place / "drop"

    def environment(self) -> dict[str, str]:
        """What its processes start with."""
        kept = {name: value for name, value in os.environ.items() if name[:4] != "GIT_"}
        return {
            **kept, "AXISVAULT": str(self.plant), "AXISVAULT_BY": BY, "SOAK_CLOCK": str(self.clock),
            "PYTHONPATH": os.pathsep.join((str(STARTUP), str(ROOT))),
        }  # fmt: skip

    def step_clock(self, ahead: float) -> None:
        """Have its clock show so many seconds more than ours."""
        draft = self.clock.with_suffix(".new")
        draft.write_text(str(ahead))
        draft.replace(self.clock)
        self.ahead = ahead
        self.steps += 1

    def fill_disk(self, room: int) -> None:
        """Leave so many bytes on its disk."""
        self.troubles += 1
        self.is_full = True
        self.disk.fill(room)

    def free_disk(self) -> None:
        """Have room again."""
        self.disk.free()
        self.is_full = False
        self.troubles += 1  # what began meanwhile met it


@dataclass(frozen=True, slots=True)
class Plant:
    """The ring of copies: each takes from the next one."""

    folder: Path
    copies: tuple[Copy, ...]
    exports: Exports
    has_disks: bool

    @property
    def alerts(self) -> Path:
        """The file that all of them tell of drift in."""
        return self.folder / "told" / "alerts.jsonl"

    def next_of(self, copy: Copy) -> Copy:
        """The one that a copy takes from."""
        return self.copies[(self.copies.index(copy) + 1) % len(self.copies)]

    def partner(self, copy: Copy) -> str:
        """How it takes from that: a folder, an address that git knows, or a bundle."""
        other = self.next_of(copy)
        return (str(other.plant), f"file://{other.plant}", str(self.bundle(other)))[
            self.copies.index(copy)
        ]

    def keep_evidence(self, *copies: Copy) -> None:
        """Keep copies as they are, for a look at what went wrong; the first few times."""
        place = self.folder / "evidence"
        place.mkdir(exist_ok=True)
        number = len(list(place.iterdir()))
        if number < _MOST_EVIDENCE:
            for copy in copies:
                with suppress(OSError):  # others write meanwhile
                    shutil.copytree(copy.plant, place / f"{number}" / copy.name)

    def bundle(self, copy: Copy) -> Path:
        """The stick that a copy gives everything to."""
        return self.folder / "stick" / f"{copy.name}.bundle"


@contextmanager
def plant(folder: Path, exports: Exports) -> Iterator[Plant]:
    """Three copies, alike, of a vault that has every axis and a baseline of none."""
    own = sys.platform == "linux" and can_mount()
    disks: list[Disk] = []
    for sub in ("told", "stick", "files", "clocks", "logs"):
        (folder / sub).mkdir(exist_ok=True)
    try:
        copies = []
        for name in "abc":
            disks.append(Disk(folder / name, own=own))
            copies.append(Copy(name, disks[-1], folder / "clocks" / name))
            copies[-1].clock.write_text("0")
            copies[-1].drop.mkdir()
        made = Plant(folder, tuple(copies), exports, own)
        _fill(made)
        yield made
    finally:
        for disk in disks:
            disk.close()


def _fill(made: Plant) -> None:
    first, *others = made.copies
    (made.folder / "hazel.yaml").write_text(FAMILY)
    (made.folder / "site.yaml").write_text(_SITE.format(made.alerts))
    with Vault.create(first.plant, "Tile works (invented)", BY) as vault:
        add_family(vault, made.folder / "hazel.yaml", BY)
        set_site(vault, made.folder / "site.yaml", BY)
        for axis in AXES:
            put = made.exports.good(axis)
            path = made.folder / "files" / put.name
            path.write_bytes(put.content)
            ingest(vault, path, Address.parse(axis), parse_visit(BY))
        for copy in others:
            Vault.copy(copy.plant, str(vault.repository.path)).close()
    for copy in made.copies:
        with Vault.open(copy.plant) as vault:
            confirm_channel(vault, "log", BY)
            give(vault, str(made.bundle(copy)), BY)
        copy.token = _token(copy.plant)


def _token(folder: Path) -> str:
    add_account(folder / "axisvault", "soak", BY, "approver", uuid4().hex, by=BY)
    with Accounts(folder / "axisvault") as accounts:
        return accounts.make_token("soak", "soak", by=BY)
