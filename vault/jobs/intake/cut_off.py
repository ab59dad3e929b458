"""The guard against a file that lost its end: earlier exports had one, and this one has not."""

from __future__ import annotations

from collections.abc import Callable, Set
from typing import TYPE_CHECKING

from vault.jobs.intake.objection import Objection
from vault.jobs.state.selectors import State
from vault.model.errors import VaultError
from vault.store.files import parameters_text

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_MOST_AXES = 100
_WORDS = {
    "last line": "an end of the last line",
    "lists": "all three lists of objects",
    "closing comment": "a comment after the last row",
}


def lost_end(
    vault: Vault, address: Address, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> Objection | None:
    """Object where an export of the family had a mark of a whole file that this one lacks.

    That is the axis's latest one, else one of another axis. It is read only where this one leaves
    room for doubt: where parameters are missing, or its own text says that a part may be.
    """
    lacking = _WORDS.keys() - export.listing.ends
    latest = _of_family(vault.latest(address), export)
    doubtful = bool(export.listing.remarks) or "last line" in lacking
    if latest is not None and not doubtful:
        before = len(parameters_text.parameter_lines(parameters_of(latest), "parameters.yaml"))
        doubtful = before > len(export.parameters)
    if not lacking or not doubtful:
        return None
    reference = latest or _of_another_axis(vault, export)
    return _objection(vault, reference, lacking) if reference is not None else None


def _objection(vault: Vault, before: Snapshot, lacking: Set[str]) -> Objection | None:
    try:
        ends = State(before.id[:10], vault, before.address, before).kept_export().listing.ends
    except VaultError:  # verify tells that better
        return None
    lost = [words for mark, words in _WORDS.items() if mark in ends and mark in lacking]
    if not lost:
        return None
    return Objection(
        "cut_off",
        f"the export before had {' and '.join(lost)}, and this one has not: it seems cut off",
        hint="export it again; if it is right so, say why: --even-so REASON",
    )


def _of_family(snapshot: Snapshot | None, export: Export) -> Snapshot | None:
    is_alike = snapshot is not None and snapshot.record.family == export.family_name
    return snapshot if is_alike else None


def _of_another_axis(vault: Vault, export: Export) -> Snapshot | None:
    latest = (vault.latest(axis) for axis in vault.index.axes()[:_MOST_AXES])
    return next((s for s in latest if _of_family(s, export) is not None), None)
