"""Files that people write: adding, listing, reading. The bytes they wrote are kept."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import Address
from vault.store import layout
from vault.store.edited_files import read_axis, read_family, read_site
from vault.store.vault import Vault

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.families import Family
    from vault.store.index_rows import Snapshot

_MAX_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a file: `unchanged` where the vault had the same bytes already."""

    name: str
    unchanged: bool
    commit: str


def add_family(vault: Vault, path: Path, by: str) -> Added:
    """Put a dictionary into the vault. Raises Unreadable with file, line and key."""
    content = _content(path)
    family = read_family(content, str(path))
    return _put(vault, layout.family_file(family.name), content, f"Family {family.name}", by)


def list_families(vault: Vault) -> list[Family]:
    """All dictionaries, by name."""
    return [vault.family_file(name).family for name in vault.family_names()]


def set_axis(vault: Vault, address: Address, path: Path, by: str) -> Added:
    """Put an axis record into the vault. Raises Unreadable with file, line and key."""
    content = _content(path)
    read_axis(content, str(path))
    if clash := vault.case_clash(address):
        raise WrongUsage(f"{str(address)!r} differs from {clash!r} in upper and lower case only")
    return _put(vault, layout.axis_file(address), content, f"{address}: axis as built", by)


def set_site(vault: Vault, path: Path, by: str) -> Added:
    """Put vault.yaml into the vault. Raises Unreadable with file, line and key."""
    content = _content(path)
    read_site(content, str(path))
    return _put(vault, layout.VAULT, content, "Site and its policies", by)


@dataclass(frozen=True, slots=True)
class AxisSheet:
    """What is known about an axis: its record as people wrote it, and its latest snapshot."""

    address: Address
    text: str
    record: AxisRecord | None
    snapshots: int
    latest: Snapshot | None

    @property
    def title(self) -> str:
        """Title of the axis."""
        return self.record.title if self.record else ""


def axis_sheet(vault: Vault, address: Address) -> AxisSheet:
    """Everything about an axis at a glance. Raises WrongUsage if there is none."""
    vault.needed_axis(address)
    content = vault.read(layout.axis_file(address))
    return AxisSheet(
        address,
        "" if content is None else content.decode("utf-8-sig"),
        None if content is None else read_axis(content, layout.axis_file(address)),
        vault.index.count(address),
        vault.latest(address),
    )


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > _MAX_BYTES:
            raise Unreadable("the file is too large", file=str(path), line=1)
        return path.read_bytes()
    except OSError as error:
        raise Unreadable(f"the file cannot be read: {error.strerror}", file=str(path)) from error


def _put(vault: Vault, place: str, content: bytes, message: str, by: str) -> Added:
    with vault.writing():
        if vault.read(place) == content:
            return Added(place, True, vault.tip)
        return Added(place, False, vault.write_files({place: content}, f"{message}\n", by))
