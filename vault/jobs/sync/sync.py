"""Two copies of a vault: taking what the other has recorded, and giving what this one has.

Commits stay as they are, so every id, signature and link holds in all copies. Where both have gone
on, a merge joins them (`join`). What would give somebody rights here needs consent (`incoming`).
"""

from __future__ import annotations

from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.sync.check import check_candidate, check_moments
from vault.jobs.sync.incoming import (
    Consent,
    ConsentNeeded,
    IncomingChange,
    called_alike,
    incoming_changes,
)
from vault.jobs.sync.join import (
    HERE,
    THERE,
    Joined,
    Kept,
    NewSnapshots,
    is_in_step,
    joined_histories,
)
from vault.jobs.sync.log import SyncEvent, note
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.vault_format import check_format
from vault.store.git.exchange import PartnerIsAhead, fetched, partner_at, push, write_bundle
from vault.store.git.history import is_ancestor
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

if TYPE_CHECKING:
    from vault.jobs.verify.verify import Progress
    from vault.store.git.exchange import Partner


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken. `files` are those that people write; `kept` says what was decided of which.

    `merge` is the commit that joined both histories; None where nothing was new here since.
    """

    partner: str
    tip: str
    snapshots: int
    axes: tuple[Address, ...]
    files: tuple[str, ...]
    kept: Kept = ()
    merge: str | None = None
    warnings: tuple[str, ...] = ()

    @property
    def is_nothing(self) -> bool:
        """Whether there was nothing new."""
        return not (self.snapshots or self.files or self.merge)


@dataclass(frozen=True, slots=True)
class Given:
    """What was given: the tip, and whether the other side had it already."""

    partner: str
    tip: str
    unchanged: bool


def take(
    vault: Vault,
    place: str,
    by: str,
    keep: str | None = None,
    progress: Progress = lambda done, total: None,
    *,
    accepted: Collection[Consent] = (),
) -> Taken:
    """Take what another copy of the vault has: all of it, checked, or nothing.

    `keep` decides where both sides changed a file: `here` or `there`; with `here` what needs
    consent and is not `accepted` stays as it is here too.
    Raises ConsentNeeded where it does not, Refused where something has to be decided or the other
    one is no copy; Damaged where something in it is not as it was recorded; Unreadable or
    Unavailable where it cannot be had.
    """
    partner = partner_at(place)
    _bind_channels(vault)
    with fetched(vault.repository, partner) as theirs:
        check_format(vault.read(layout.VAULT, theirs) or b"", partner.name)
        with vault.writing():
            joined = _consented(vault, partner, theirs, by, keep, accepted)
        if joined is not None:
            _check(vault, partner, joined, progress)  # it takes its time: others may write
        with vault.writing():
            if joined is not None and joined.ours != vault.tip:  # and did: now nobody else may
                joined = _consented(vault, partner, theirs, by, keep, accepted)
                if joined is not None:
                    _check(vault, partner, joined, progress)
            if joined is None:
                return Taken(partner.name, vault.tip, 0, (), ())
            taken = _entered(vault, partner, joined, by)
    return replace(taken, warnings=tuple(alert(vault, _concerned(joined.new, joined.files))))


@dataclass(frozen=True, slots=True)
class Looked:
    """What a take would bring: snapshots by axis, and changes of what people write here."""

    partner: str
    tip: str
    new: NewSnapshots
    changes: tuple[IncomingChange, ...]

    @property
    def snapshots(self) -> int:
        """How many snapshots would come."""
        return sum(map(len, self.new.values()))


def look(vault: Vault, place: str, by: str) -> Looked:
    """What another copy of the vault has that is not here; nothing is taken.

    Raises as `take` does for what is no copy or cannot be had.
    """
    partner = partner_at(place)
    with fetched(vault.repository, partner) as theirs:
        check_format(vault.read(layout.VAULT, theirs) or b"", partner.name)
        with vault.writing():
            joined = joined_histories(vault, partner, theirs, by, THERE)
            if joined is None:
                return Looked(partner.name, theirs, {}, ())
            changes = incoming_changes(
                vault, partner.name, theirs, joined.tip, joined.files, only_looks=True
            )
            changes += called_alike(vault, joined.tip)
    return Looked(partner.name, theirs, joined.new, tuple(changes))


def _consented(
    vault: Vault,
    partner: Partner,
    theirs: str,
    by: str,
    keep: str | None,
    accepted: Collection[Consent],
) -> Joined | None:
    """Join both histories, without what nobody here consented to; None where nothing is new."""
    joined = joined_histories(vault, partner, theirs, by, keep)
    if joined is None:
        return None
    changes = incoming_changes(vault, partner.name, theirs, joined.tip, joined.files)
    held = [change.path for change in changes if change.needs not in (None, *accepted)]
    if not held:
        return joined
    if keep != HERE:
        raise ConsentNeeded(partner.name, changes, accepted)
    return joined_histories(vault, partner, theirs, by, keep, held)


def _check(vault: Vault, partner: Partner, joined: Joined, progress: Progress) -> None:
    axes = joined.new.keys() | joined.touched
    check_moments(partner.name, (s for snapshots in joined.new.values() for s in snapshots))
    check_candidate(vault, partner.name, joined.tip, axes, joined.files, progress)


def _bind_channels(vault: Vault) -> None:
    """Channels that are known here stand for what they are now, and not for what comes in."""
    if Outbox.exists(vault.state):
        with suppress(VaultError), Outbox(vault.state) as outbox:
            outbox.bind(vault.site_record.alerts)


def _entered(vault: Vault, partner: Partner, joined: Joined, by: str) -> Taken:
    """Make it the vault's state, and note that."""
    vault.advance(joined.tip)
    vault.refresh()
    new, files, merge = joined.new, joined.files, joined.merge
    count = sum(map(len, new.values()))
    event = SyncEvent(now(), by, "took", partner.name, joined.tip, count, len(new), merge)
    note(vault.state, event)
    axes = tuple(map(vault.names.named, sorted(new)))
    return Taken(partner.name, joined.tip, count, axes, files, joined.kept, merge)


def give(vault: Vault, place: str, by: str) -> Given:
    """Give everything to another copy, or write it into a bundle.

    Raises Refused where that has something that is not here, Unavailable where it is not reached.
    """
    partner = partner_at(place, new_bundle=True)
    tip = vault.tip
    try:
        unchanged = _given(vault, partner, by)
    except PartnerIsAhead:
        with fetched(vault.repository, partner) as theirs:
            unchanged = is_in_step(vault, theirs)
        if not unchanged:
            raise
    if not unchanged:
        note(vault.state, SyncEvent(now(), by, "gave", partner.name, tip, 0, 0))
    return Given(partner.name, tip, unchanged)


def _given(vault: Vault, partner: Partner, by: str) -> bool:
    """Give everything, and say whether the other side had it already. Raises PartnerIsAhead."""
    unchanged = False
    if partner.kind == "vault":
        with Vault.open(partner.path) as other:
            if not is_ancestor(vault.repository, other.tip, vault.tip):
                raise PartnerIsAhead(partner)
            unchanged = other.tip == vault.tip
            take(other, str(vault.repository.path), by)
    elif partner.kind == "bundle":
        write_bundle(vault.repository, partner.path, vault.tip)
    else:
        push(vault.repository, partner, vault.tip)
    return unchanged


_OF_BOTH_SIDES = ("axis.yaml", "corrections.yaml")


def _concerned(new: NewSnapshots, files: Collection[str]) -> Collection[Address] | None:
    """Axes whose drift may be another one now; None for all."""
    axes = set(new)
    for path in files:
        parts, place = path.split("/"), layout.place_of(path)
        if parts[0] != layout.MACHINES:
            return None
        if place is not None:
            axes.add(place[0])
            if place[1] in _OF_BOTH_SIDES:
                axes.add(place[0].controller)
        elif parts[-1] == "corrections.yaml":  # of a machine
            return None
    return axes
