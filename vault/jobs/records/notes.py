"""What people add about an axis afterwards: notes, and when a snapshot was really taken."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.records.corrections import append, next_moment
from vault.jobs.state.moments import not_in_future
from vault.jobs.state.selectors import resolve
from vault.model.corrections import Correction
from vault.model.errors import WrongUsage
from vault.model.typed_text import required_text
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.corrections_text import CORRECTIONS_FORMAT

if TYPE_CHECKING:
    from datetime import datetime

    from vault.model.names import Address
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class NoteAdded:
    """A note that was added; of one that re-dates a snapshot, when that was shown as taken before.

    `warnings` are for the reader.
    """

    address: Address
    entry: Correction
    taken_at_before: datetime | None = None
    warnings: tuple[str, ...] = ()


def add_note(
    vault: Vault, selector: str, text: str, by: str, taken_at: str | None = None
) -> NoteAdded:
    """Add a note about an axis, or about a snapshot of it, `M/A@WHEN`.

    With `taken_at` it says when that snapshot was really taken: order and latest follow it, while
    the record and its chain stay as they are.
    Raises WrongUsage where no snapshot is named that it could be about, Refused for the future.
    """
    name, at, _ = selector.partition("@")
    text = required_text(text, "text")
    redated = None
    if taken_at is not None:
        redated = now() if taken_at == "now" else not_in_future(parse_time(taken_at))
    if redated is not None and not at:
        raise WrongUsage(
            "the time of which snapshot?", hint=f"name it: {name}@WHEN; history shows them"
        )
    with vault.writing():
        address = vault.require_axis(vault.address(name))
        snapshot = resolve(vault, selector).snapshot if at else None
        if at and snapshot is None:
            raise WrongUsage(f"{selector} is no snapshot")
        before = snapshot.record.taken_at if snapshot is not None else None
        entry = Correction(
            kind="note" if redated is None else "taken-at",
            by=by, at=next_moment(vault, layout.corrections_file(address)), text=text,
            snapshot=snapshot.id if snapshot is not None else None,
            taken_at=redated,
        )  # fmt: skip
        _write(vault, address, entry, before)
    if redated is None:
        return NoteAdded(address, entry)
    return NoteAdded(address, entry, before, tuple(alert(vault, [address])))


def _write(vault: Vault, address: Address, entry: Correction, before: datetime | None) -> None:
    about = f" on {entry.snapshot[:10]}" if entry.snapshot is not None else ""
    subject = f"{address}: note{about}"
    if entry.taken_at is not None:
        subject = (
            f"{address}: snapshot{about.removeprefix(' on')} was taken"
            f" {entry.taken_at:%Y-%m-%d %H:%M}, not {before:%Y-%m-%d %H:%M}"
        )
    append(vault, layout.corrections_file(address), entry, subject, CORRECTIONS_FORMAT)
