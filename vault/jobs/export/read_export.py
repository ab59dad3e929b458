"""The stages of reading one after the other: from bytes to a parameter set."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from vault.formats.zipped import is_packed, members
from vault.jobs.export.list_entries import list_entries
from vault.jobs.export.parameter_set import Export, parameter_set
from vault.jobs.export.recognise import recognise
from vault.model.errors import Unreadable
from vault.model.normalise import VERSION
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.model.axis_pick import AxisPick


def read_export(
    content: bytes,
    file: str,
    family: FamilyFile | None = None,
    *,
    known: Iterable[FamilyFile] = (),
    usual: str | None = None,
    channel: int | None = None,
    partial: bool = False,
    node_id: int | None = None,
    version: int = VERSION,
    pick: AxisPick | None = None,
) -> Export:
    """Read an export; the arguments are those of the stages, and so is what is raised."""
    recognised = recognise(content, file, family, known=known, usual=usual, channel=channel)
    node_id = node_id if refers_to_node(content) else None
    listing = list_entries(recognised, channel, node_id, pick)
    return parameter_set(recognised, listing, partial=partial, version=version, node_id=node_id)


def refers_to_node(content: bytes) -> bool:
    """Whether any value of a file may refer to the node id (`$NODEID`, CiA 306)."""
    if is_packed(content):
        try:
            return any(refers_to_node(part.content) for part in members(content, file=""))
        except Unreadable:  # told where it is read
            return False
    return b"NODEID" in content.replace(b"\0", b"").upper()
