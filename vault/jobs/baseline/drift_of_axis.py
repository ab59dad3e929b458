"""A look at one axis: how its latest snapshot stands to its golden baseline.

What a look finds is plain values, kept in the index together with what was seen, so that an axis
that looks the same is not looked into again.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any

from vault import __version__
from vault.jobs.baseline.documents import waiver_json
from vault.jobs.state.compare import compare_states
from vault.jobs.state.documents import change_json
from vault.jobs.state.selectors import State, approved_state, view_of
from vault.meaning.drift import Deviation, Deviations, deviations, in_force
from vault.meaning.sentences import surrounding_sentence
from vault.model.errors import VaultError
from vault.model.golden import Golden
from vault.model.names import Address
from vault.model.quantities import si_number
from vault.store.clock import microseconds, parse_time, time_text
from vault.store.files import layout
from vault.store.files.edited_files import read_axis
from vault.store.files.golden_text import read_golden
from vault.store.files.yaml_text import parameter_line, parameter_lines

if TYPE_CHECKING:
    from vault.meaning.changes import Change, Comparison
    from vault.model.golden import Approval, Waiver
    from vault.model.site import SiteRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_MANY = 8  # axes, from where it pays to start processes of git's for them
Look = dict[str, Any]
"""Plain values: see `look`."""


class Sight:
    """What the tip of the vault holds, by git's ids: nothing is loaded for it."""

    def __init__(self, vault: Vault, addresses: list[Address]) -> None:
        self._vault = vault
        self.site = vault.site_record
        if len(addresses) == 1:
            found = vault.latest(addresses[0])
            taken = microseconds(found.record.taken_at) if found else 0
            self.latest = {addresses[0]: (found.id, taken)} if found else {}
            self._folders: dict[Address, str] = {}
        else:
            self.latest = vault.index.latest_of_all()
            self._folders = vault.axis_folders()
        self._blobs: dict[str, str] = {}  # this and what follows is read ahead
        self._golden: dict[str, Golden] = {}
        self._then: dict[str, str] = {}
        self._common = f"{__version__} {self.blob_at(vault.tip, layout.VAULT)}"

    def read_ahead(self, addresses: Sequence[Address]) -> None:
        """Fetch what a look at each of these asks git for: many at a time are quicker."""
        if len(addresses) < _MANY:
            return
        self._blobs = {entry.path: entry.id for entry in self._vault.machine_files()}
        paths = [path for path in map(layout.golden_file, addresses) if path in self._blobs]
        with self._vault.repository.stream() as objects:
            texts = objects.contents(self._blobs[path] for path in paths)
            for path, text in zip(paths, texts, strict=True):
                with suppress(VaultError):  # whoever looks at the axis tells it
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
        if self._blobs and path.startswith(f"{layout.MACHINES}/"):
            return self._blobs.get(path, "")
        return self.blob_at(self._vault.tip, path)

    def blob_at(self, commit: str, path: str) -> str:
        """Id of a file's content in a commit, empty where there was no such file."""
        name = f"{commit}:{path}"
        if name in self._then:
            return self._then[name]
        return self._vault.repository.resolve(name) or ""

    def read(self, path: str) -> bytes:
        """Content of a file, empty where there is none."""
        return (self._vault.read(path) or b"") if self.blob(path) else b""

    def of(self, address: Address, follows: str | None) -> str:
        """Everything that the drift of an axis rests on, as ids in one text."""
        seen = f"{self._common} {self._folder(address)} {self.latest.get(address, ('',))[0]}"
        return f"{seen} {self._folder(Address.parse(follows))}" if follows else seen

    def _folder(self, address: Address) -> str:
        """Id of everything in the folder of an axis, empty where there is none."""
        if address not in self._folders:
            self._folders[address] = self.blob_at(self._vault.tip, layout.folder(address))
        return self._folders[address]


def look(vault: Vault, seen: Sight, address: Address, moment: datetime) -> Look:
    """Find out how an axis stands; plain values that can be kept.

    `settings` are changes as JSON, each with the waiver that covers it, be it in force or not;
    `holds_until` is when the first waiver ends.
    """
    built = seen.read(layout.axis_file(address))
    follows = vault.follows(address) if b"follows" in built else None
    golden = seen.golden(address)
    approval = (seen.golden(follows) if follows else golden).approval
    every = _export_every(built, address, seen.site)
    latest, taken = seen.latest.get(address, (None, None))
    result: Look = {
        "follows": str(follows) if follows else None,
        "every": every,
        "golden": approval.snapshot if approval else None,
        "latest": latest,
        "taken": taken,
        "settings": [], "causes": [], "hardware": [], "since": None,
        "holds_until": _holds_until(golden.waivers, moment),
    }  # fmt: skip
    if approval is not None and latest is not None and not _is_it(seen, address, follows, approval):
        _judge(vault, seen, address, golden.waivers, follows, approval, moment, result)
    return result


def _is_it(seen: Sight, address: Address, follows: Address | None, approval: Approval) -> bool:
    """Whether the latest snapshot is the approved one, on the machine as it was then."""
    path = layout.axis_file(address)
    return (
        follows is None
        and approval.snapshot == seen.latest[address][0]
        and seen.blob(path) == seen.blob_at(approval.vault_at, path)
    )


def _judge(
    vault: Vault,
    seen: Sight,
    address: Address,
    waivers: tuple[Waiver, ...],
    follows: Address | None,
    approval: Approval,
    moment: datetime,
    result: Look,
) -> None:
    """Fill in what the latest snapshot differs in."""
    latest = vault.latest(address)
    golden = approved_state(vault, f"{address}@golden", follows or address, approval)
    judge = _Judge(vault, address, golden, waivers, follows)
    if latest is None or judge.is_untouched(seen, latest):
        return
    compared, found = judge.deviations(latest, is_latest=True)
    result["settings"] = [_setting(deviation) for deviation in found.settings]
    result["causes"] = judge.causes(compared, found)
    result["hardware"] = judge.hardware(compared, found)
    drifting = [d.change for d in found.settings if d.drifts(moment)]
    if drifting:
        result["since"] = time_text(judge.since(latest, drifting, moment))


def _setting(deviation: Deviation) -> Look:
    waiver = deviation.waiver
    said = None if waiver is None else waiver_json(waiver)
    return {**change_json(deviation.change), "waiver": said}


def _holds_until(waivers: tuple[Waiver, ...], moment: datetime) -> str | None:
    ends = [parse_time(w.until) for w in waivers if in_force(w, moment)]
    return time_text(min(ends)) if ends else None


def _export_every(built: bytes, address: Address, site: SiteRecord) -> float | None:
    """Seconds after which an export is due; the axis's own interval goes first."""
    if b"export_every" in built:  # else it need not be parsed: that is slow
        record = read_axis(built, layout.axis_file(address))
        if record.export_every is not None:
            return si_number(record.export_every)
    return si_number(site.export_every)


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

    def is_untouched(self, seen: Sight, latest: Snapshot) -> bool:
        """Whether everything is as in the axis's own baseline, told without loading values."""
        golden, built_at = self._golden.snapshot, self._golden.built_at
        if self._follows is not None or golden is None or built_at is None:
            return False
        parameters, axis = layout.parameters_file(self._address), layout.axis_file(self._address)
        one, other = golden.record, latest.record
        return (
            seen.blob_at(golden.id, parameters) == seen.blob(parameters)
            and seen.blob_at(built_at, axis) == seen.blob(axis)
            and (one.nameplate, one.family, one.family_sha256)
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

    def since(self, latest: Snapshot, drifting: list[Change], moment: datetime) -> datetime:
        """When the first snapshot was taken that drifted and was not in line again since."""
        since = latest.record.taken_at
        golden = self._golden.snapshot
        written = (change.right for change in drifting if change.kind != "shifted")
        lines = {parameter_line(parameter) for parameter in written if parameter is not None}
        for snapshot in self._vault.index.newest_first(self._address):
            if snapshot.id == latest.id:
                continue
            if golden is not None and snapshot.id == golden.id:
                break
            if not self._has(snapshot, latest, lines):
                _, found = self.deviations(snapshot)
                if not any(deviation.drifts(moment) for deviation in found.settings):
                    break
            since = snapshot.record.taken_at
        return since

    def _has(self, snapshot: Snapshot, latest: Snapshot, lines: set[str]) -> bool:
        """Whether a snapshot has lines that drift in the latest one, meaning the same."""
        if not lines or snapshot.record.nameplate != latest.record.nameplate:
            return False
        path = layout.parameters_file(self._address)
        return lines <= set(parameter_lines(self._vault.needed(path, snapshot.id), path))
