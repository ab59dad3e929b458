"""Drift of axes: the latest snapshot against the golden baseline, at the scale of a site.

What a look at an axis has found is kept in the index for as long as every file it rests on is the
same, so the work grows with the axes that changed since the last look. Equal blobs are not loaded.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta

from vault import __version__
from vault.jobs.as_json import Json
from vault.jobs.drift_look import Look, Sight, look
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.store.clock import moment_of, now, parse_time
from vault.store.vault import Vault

STATUSES = ("drifted", "overdue", "no_golden", "in_line")
Progress = Callable[[int, int], None]
Failed = Callable[[Address, VaultError], None]


@dataclass(frozen=True, slots=True)
class AxisDrift:
    """How an axis stands to its golden baseline.

    `changes` and `waived` are changes as a comparison has them in JSON, worst first; with a
    `waiver` where one covers, or covered, them. `causes` and `hardware` are sentences: why values
    mean something else, and what names other hardware than in the baseline.
    """

    axis: str
    status: str
    changes: tuple[Json, ...] = ()
    waived: tuple[Json, ...] = ()
    causes: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    since: datetime | None = None
    golden: str | None = None
    latest: str | None = None
    taken_at: datetime | None = None
    due: datetime | None = None
    overdue: bool = False
    follows: str | None = None

    @property
    def count(self) -> int:
        """How many parameters drifted."""
        return len(self.changes)

    @property
    def worst(self) -> str | None:
        """The worst consequence of what drifted."""
        return self.changes[0]["consequence"] if self.changes else None

    @property
    def needs_attention(self) -> bool:
        """Whether somebody has to do something."""
        return self.status in ("drifted", "overdue")


def drift(
    vault: Vault,
    place: str | None = None,
    moment: datetime | None = None,
    progress: Progress = lambda done, total: None,
    failed: Failed | None = None,
) -> list[AxisDrift]:
    """Drift of everything, of a machine, or of one axis, those that need somebody first.

    An axis whose drift cannot be told goes to `failed` with the reason; without that it is raised.
    Raises WrongUsage if nothing has that name.
    """
    moment = moment or now()
    kept, whole = vault.index.looks()
    looks: dict[Address, Look] = {}
    if place is None and whole == _mark(vault, len(kept)):  # nothing at all has changed
        old = {address: _kept(kept[address], None, address, moment) for address in kept}
        looks = {address: found for address, found in old.items() if found is not None}
    if not looks or len(looks) < len(kept):
        addresses = _wanted(vault, place)
        looks = _looks(vault, addresses, kept, moment, progress, failed, whole=place is None)
    found = [_told(address, looks[address], moment) for address in sorted(looks)]
    return sorted(found, key=lambda axis: STATUSES.index(axis.status))


def _looks(
    vault: Vault,
    addresses: list[Address],
    kept: Mapping[Address, tuple[str, Look]],
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
    *,
    whole: bool,
) -> dict[Address, Look]:
    """Look at axes that are not as they were when they were looked at last."""
    seen, fresh = Sight(vault, addresses), {}
    looks: dict[Address, Look] = {}
    for number, address in enumerate(addresses, 1):
        found = _kept(kept.get(address), seen, address, moment)
        try:
            if found is None:
                found = look(vault, seen, address, moment)
                fresh[address] = (seen.of(address, found["follows"]), found)
            looks[address] = found
        except VaultError as error:
            if failed is None:
                raise
            failed(address, error)
        progress(number, len(addresses))
    if fresh or whole:
        gone = kept.keys() - looks.keys() if whole else ()
        is_all = whole and len(looks) == len(addresses)
        vault.index.keep_looks(fresh, gone=gone, whole=_mark(vault, len(looks)) if is_all else None)
    return looks


def _mark(vault: Vault, axes: int) -> str:
    """What a look at all axes rests on."""
    return f"{__version__} {vault.tip} {axes}"


def drift_of(vault: Vault, address: Address) -> AxisDrift:
    """Drift of one axis."""
    return drift(vault, str(address))[0]


def drift_if_any(vault: Vault, address: Address) -> AxisDrift | None:
    """Drift of one axis, None where nothing is approved that it could drift from."""
    if vault.golden(vault.follows(address) or address).approval is None:
        return None
    return drift_of(vault, address)


def kept_wrongly(vault: Vault, moment: datetime | None = None) -> list[Address]:
    """Axes of which the index keeps something else than a look finds."""
    moment = moment or now()
    kept, _ = vault.index.looks()
    addresses = [address for address in vault.axes() if address in kept]
    seen = Sight(vault, addresses)
    wrong = []
    for address in addresses:
        found = _kept(kept[address], seen, address, moment)
        with suppress(VaultError):  # which `drift` tells
            if found is not None:
                fresh = json.dumps(look(vault, seen, address, moment))
                if found != json.loads(fresh):
                    wrong.append(address)
    return wrong


def _wanted(vault: Vault, place: str | None) -> list[Address]:
    if place is not None and "/" in place:
        return [vault.needed_axis(Address.parse(place))]
    found = [a for a in vault.axes() if place in (None, a.machine)]
    if place is not None and not found:
        raise WrongUsage(f"there is no machine {place!r}", hint="axisvault axis list")
    return found


def _kept(
    kept: tuple[str, Look] | None, seen: Sight | None, address: Address, moment: datetime
) -> Look | None:
    """What was found last time, if it still holds; without `seen` everything looks the same."""
    if kept is None:
        return None
    found = kept[1]
    if seen is not None and kept[0] != seen.of(address, found["follows"]):
        return None
    until = found["holds_until"]
    return found if until is None or moment <= parse_time(until) else None


def _told(address: Address, look: Look, moment: datetime) -> AxisDrift:
    """What a look says at a moment: waivers end, and exports become due."""
    changes: list[Json] = []
    waived: list[Json] = []
    for setting in look["settings"]:
        waiver = setting["waiver"]
        holds = waiver is not None and moment <= parse_time(waiver["until"])
        (waived if holds else changes).append(setting)
    commit, taken = look["latest"], look["taken"]
    taken_at = None if taken is None else moment_of(taken)
    due, overdue = None, False
    if look["every"] is not None:
        due = None if taken_at is None else taken_at + timedelta(seconds=look["every"])
        overdue = due is None or moment > due
    status = "in_line" if look["golden"] and commit else "no_golden"
    status = "drifted" if changes else "overdue" if overdue else status
    return AxisDrift(
        axis=str(address),
        status=status,
        changes=tuple(changes),
        waived=tuple(waived),
        causes=tuple(look["causes"]),
        hardware=tuple(look["hardware"]),
        since=parse_time(look["since"]) if look["since"] else None,
        golden=look["golden"],
        latest=commit,
        taken_at=taken_at,
        due=due,
        overdue=overdue,
        follows=look["follows"],
    )
