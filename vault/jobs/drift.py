"""Drift of axes: the latest snapshot against the golden baseline, at the scale of a site.

What a look at an axis has found is kept in the index for as long as every file it rests on is the
same, so the work grows with the axes that changed since the last look. Equal blobs are not loaded.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any

from vault import __version__
from vault.jobs.as_json import Json, change_json
from vault.jobs.as_json_baseline import waiver_json
from vault.jobs.compare_states import compare_states
from vault.jobs.selectors import State, golden_state, view_of
from vault.meaning.changes import Comparison
from vault.meaning.drift import Deviation, Deviations, deviations, in_force
from vault.meaning.sentences import surrounding_sentence
from vault.model.errors import WrongUsage
from vault.model.golden import Waiver
from vault.model.names import Address
from vault.model.site import SiteRecord, interval_of
from vault.store import layout
from vault.store.clock import microseconds, moment_of, now, parse_time, time_text
from vault.store.edited_files import read_axis
from vault.store.index import Snapshot
from vault.store.vault import Vault

STATUSES = ("drifted", "overdue", "no_golden", "in_line")
Progress = Callable[[int, int], None]


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
) -> list[AxisDrift]:
    """Drift of everything, of a machine, or of one axis, those that need somebody first.

    Raises WrongUsage if nothing has that name.
    """
    moment = moment or now()
    addresses = _wanted(vault, place)
    seen = _Sight(vault, addresses)
    kept, fresh = vault.index.looks(), {}
    found = []
    for number, address in enumerate(addresses, 1):
        look = _kept(kept.get(address), seen, address, moment)
        if look is None:
            look = _look(vault, seen, address, moment)
            fresh[address] = (seen.of(address, look.get("follows")), json.dumps(look))
        found.append(_told(address, look, seen, moment))
        progress(number, len(addresses))
    if fresh:
        vault.index.keep_looks(fresh)
    return sorted(found, key=lambda axis: STATUSES.index(axis.status))


def drift_of(vault: Vault, address: Address) -> AxisDrift:
    """Drift of one axis."""
    return drift(vault, str(address))[0]


def has_baseline(vault: Vault, address: Address) -> bool:
    """Whether anything is approved that an axis could drift from."""
    return vault.golden(vault.follows(address) or address).approval is not None


def _wanted(vault: Vault, place: str | None) -> list[Address]:
    if place is not None and "/" in place:
        return [vault.needed_axis(Address.parse(place))]
    found = [a for a in vault.axes() if place in (None, a.machine)]
    if place is not None and not found:
        raise WrongUsage(f"there is no machine {place!r}", hint="axisvault axis list")
    return found


class _Sight:
    """What the tip of the vault holds, by the ids of its blobs: nothing is loaded for it."""

    def __init__(self, vault: Vault, addresses: list[Address]) -> None:
        self._vault = vault
        self.site = vault.site_record
        only = addresses[0] if len(addresses) == 1 else None
        found = None if only is None else vault.latest(only)
        if only is not None:
            taken = microseconds(found.record.taken_at) if found else 0
            self.latest = {only: (found.id, taken)} if found else {}
        else:
            self.latest = vault.index.latest_of_all()
        folder = layout.MACHINES if only is None else layout.folder(only)
        self._scope = f"{folder}/"
        entries = vault.repository.list(vault.tip, folder, recursive=True)
        self._blobs = {entry.path: entry.id for entry in entries}
        self._common = f"{__version__} {vault.repository.resolve(f'{vault.tip}:{layout.VAULT}')}"

    def blob(self, path: str) -> str:
        """Id of a file's content, empty where there is no such file."""
        if path.startswith(self._scope):
            return self._blobs.get(path, "")
        return self._vault.repository.resolve(f"{self._vault.tip}:{path}") or ""

    def of(self, address: Address, follows: str | None) -> str:
        """Everything that the drift of an axis rests on, as one hash."""
        folder = layout.folder(address)
        names = ("parameters.yaml", "snapshot.yaml", "axis.yaml", "golden.yaml")
        blobs = [self.blob(f"{folder}/{name}") for name in names]
        blobs.append(self.latest.get(address, ("", 0))[0])
        if follows:
            other = layout.folder(Address.parse(follows))
            blobs += [self.blob(f"{other}/{name}") for name in names[2:]]
        return sha256("\n".join((self._common, *blobs)).encode()).hexdigest()


def _kept(
    kept: tuple[str, str] | None, seen: _Sight, address: Address, moment: datetime
) -> dict[str, Any] | None:
    """What was found last time, if it still holds."""
    if kept is None:
        return None
    look: dict[str, Any] = json.loads(kept[1])
    if kept[0] != seen.of(address, look.get("follows")):
        return None
    until = look["holds_until"]
    return look if until is None or moment <= parse_time(until) else None


def _look(vault: Vault, seen: _Sight, address: Address, moment: datetime) -> dict[str, Any]:
    """Find out how an axis stands; plain values that can be kept."""
    follows = vault.follows(address)
    source = follows or address
    golden, approval = vault.golden(address), vault.golden(source).approval
    every = _export_every(vault, address, seen.site)
    look: dict[str, Any] = {
        "follows": str(follows) if follows else None,
        "every": every.total_seconds() if every else None,
        "golden": approval.snapshot if approval else None,
        "settings": [], "causes": [], "hardware": [], "since": None,
        "holds_until": _holds_until(golden.waivers, moment),
    }  # fmt: skip
    latest = vault.latest(address)
    if approval is None or latest is None:
        return look
    judge = _Judge(vault, address, golden_state(vault, address), golden.waivers, follows)
    if judge.is_untouched(seen, latest):
        return look
    compared, found = judge.deviations(latest, is_latest=True)
    look["settings"] = [_setting(deviation) for deviation in found.settings]
    look["causes"] = judge.causes(compared, found)
    look["hardware"] = judge.hardware(compared, found)
    if any(deviation.drifts(moment) for deviation in found.settings):
        look["since"] = time_text(judge.since(latest, moment))
    return look


def _setting(deviation: Deviation) -> Json:
    waiver = deviation.waiver
    said = None if waiver is None else waiver_json(waiver)
    return {**change_json(deviation.change), "waiver": said}


def _holds_until(waivers: tuple[Waiver, ...], moment: datetime) -> str | None:
    ends = [parse_time(w.until) for w in waivers if in_force(w, moment)]
    return time_text(min(ends)) if ends else None


def _export_every(vault: Vault, address: Address, site: SiteRecord) -> timedelta | None:
    path = layout.axis_file(address)
    content = vault.read(path)
    if content is not None and b"export_every" in content:  # else it need not be read
        record = read_axis(content, path)
        if record.export_every is not None:
            return interval_of(record.export_every)
    return interval_of(site.export_every) if site.export_every is not None else None


class _Judge:
    """Holds the snapshots of one axis against its baseline."""

    def __init__(
        self,
        vault: Vault,
        address: Address,
        golden: State,
        waivers: tuple[Waiver, ...],
        follows: Address | None,
    ) -> None:
        self._vault = vault
        self._address = address
        self._golden = golden
        self._waivers = waivers
        self._follows = follows

    def is_untouched(self, seen: _Sight, latest: Snapshot) -> bool:
        """Whether everything is as in the axis's own baseline, told without loading values."""
        golden, vault = self._golden.snapshot, self._vault
        if self._follows is not None or golden is None:
            return False
        then = {
            layout.parameters_file(self._address): golden.id,
            layout.axis_file(self._address): self._golden.built_at,
        }
        for path, commit in then.items():
            if (vault.repository.resolve(f"{commit}:{path}") or "") != seen.blob(path):
                return False
        one, other = golden.record, latest.record
        return golden.id == latest.id or (
            (one.nameplate, one.family, one.family_sha256)
            == (other.nameplate, other.family, other.family_sha256)
        )

    def deviations(
        self, snapshot: Snapshot, *, is_latest: bool = False
    ) -> tuple[Comparison, Deviations]:
        """What differs in a snapshot, and what of it counts."""
        state = State(str(self._address), self._vault, self._address, snapshot, is_latest)
        compared = compare_states(self._golden, state).comparison
        of_twin = self._follows is not None
        views = view_of(self._golden), view_of(state)
        return compared, deviations(compared, *views, self._waivers, of_twin=of_twin)

    def causes(self, compared: Comparison, found: Deviations) -> list[str]:
        """Why values mean something else."""
        names = {deviation.change.cause for deviation in found.settings}
        return [cause.explanation for cause in compared.causes if cause.name in names]

    def hardware(self, compared: Comparison, found: Deviations) -> list[str]:
        """Sentences about other hardware; a twin's is another one anyway."""
        if self._follows is not None:
            return []
        plate = (s for s in compared.surroundings if s.path.startswith("nameplate."))
        return [change.explanation for change in found.hardware] + [
            surrounding_sentence(around) for around in plate
        ]

    def since(self, latest: Snapshot, moment: datetime) -> datetime:
        """When the first snapshot was taken that drifted and was not in line again since."""
        since = latest.record.taken_at
        golden = self._golden.snapshot
        known: dict[object, bool] = {}
        for snapshot in self._vault.index.newest_first(self._address):
            if snapshot.id == latest.id:
                continue
            if golden is not None and snapshot.id == golden.id:
                break
            path = layout.parameters_file(self._address)
            blob = self._vault.repository.resolve(f"{snapshot.id}:{path}")
            key = blob, tuple(sorted(snapshot.record.nameplate.items()))
            if key not in known:
                _, found = self.deviations(snapshot)
                known[key] = any(deviation.drifts(moment) for deviation in found.settings)
            if not known[key]:
                break
            since = snapshot.record.taken_at
        return since


def _told(address: Address, look: dict[str, Any], seen: _Sight, moment: datetime) -> AxisDrift:
    """What a look says at a moment: waivers end, and exports become due."""
    changes: list[Json] = []
    waived: list[Json] = []
    for setting in look["settings"]:
        waiver = setting["waiver"]
        holds = waiver is not None and moment <= parse_time(waiver["until"])
        (waived if holds else changes).append(setting)
    commit, taken = seen.latest.get(address, (None, None))
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
