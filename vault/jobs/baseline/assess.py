"""How one axis stands to its golden baseline: its latest snapshot against the approved one.

What is found holds for as long as the files it rests on are the same, so that it can be kept; what
a day adds to it (waivers end, exports become due) is told by `axis_drift`.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, approved_state, view_of
from vault.meaning.drift import Deviation, Deviations, deviations, in_force
from vault.meaning.floors import UnkeptFloor, unkept
from vault.meaning.sentences import surrounding_sentence
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.model.quantities import si_number
from vault.store.clock import moment_of, parse_time
from vault.store.files import layout
from vault.store.files.edited_files import kept_axis
from vault.store.files.parameters_text import parameter_line, parameter_lines
from vault.store.files.yaml_text import may_mention

if TYPE_CHECKING:
    from vault.jobs.baseline.tip_files import TipFiles
    from vault.meaning.changes import Change, Comparison
    from vault.model.coverage import Coverage
    from vault.model.golden import Approval, Waiver
    from vault.model.site import SiteRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Assessment:
    """How an axis stands to its baseline, as long as the files it rests on are the same.

    `golden` and `latest` are ids of snapshots, `taken_at` is when the latest was taken. An export
    is due `export_every` seconds after it. `settings` are what differs, worst first, each with the
    waiver that covers it, be it in force or not; `causes` say why values mean something else,
    `hardware` what names other hardware. It has drifted `since` then. `holds_until` is when the
    first of the waivers ends that were in force: `since` may be another one after that.
    `golden_coverage` and `latest_coverage` are None where there is no such snapshot, or what its
    export gave cannot be told any more. `floors` of the axis record are those that the latest
    snapshot is not shown to keep.
    """

    golden: str | None = None
    follows: Address | None = None
    latest: str | None = None
    taken_at: datetime | None = None
    export_every: float | None = None
    settings: tuple[Deviation, ...] = ()
    causes: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    since: datetime | None = None
    holds_until: datetime | None = None
    golden_coverage: Coverage | None = None
    latest_coverage: Coverage | None = None
    floors: tuple[UnkeptFloor, ...] = ()

    @property
    def has_words(self) -> bool:
        """Whether anything in it is said in units."""
        return bool(self.settings or self.causes or self.hardware)

    def holds_at(self, moment: datetime) -> bool:
        """Whether it is still right at a later moment."""
        return self.holds_until is None or moment <= self.holds_until


def assess(vault: Vault, files: TipFiles, address: Address, moment: datetime) -> Assessment:
    """Find out how an axis stands to its baseline.

    Raises Unreadable for an axis record that people broke, Damaged for a broken baseline.
    """
    built = files.read(layout.axis_file(address))
    follows = vault.follows(address) if may_mention(built, b"follows") else None
    golden = files.golden(address)
    approval = (files.golden(follows) if follows else golden).approval
    latest, taken = files.latest.get(address, (None, None))
    found = Assessment(
        golden=approval.snapshot if approval else None,
        follows=follows,
        latest=latest,
        taken_at=None if taken is None else moment_of(taken),
        export_every=_export_every(built, address, files.site),
        holds_until=_holds_until(golden.waivers, moment),
        latest_coverage=_coverage_of_latest(vault, address),
        floors=_floors(vault, address, built),
    )
    if approval is None:
        return found
    if latest == approval.snapshot:
        found = replace(found, golden_coverage=found.latest_coverage)
    if latest is None or _is_approved(files, address, follows, approval):
        return found
    against = approved_state(vault, f"{address}@golden", follows or address, approval)
    found = replace(found, golden_coverage=_coverage(against))
    judge = _Judge(vault, address, against, golden.waivers, follows)
    return judge.completed(files, found, moment)


def _floors(vault: Vault, address: Address, built: bytes) -> tuple[UnkeptFloor, ...]:
    """Floors that the latest snapshot is not shown to keep; they are of the drive's set."""
    if address.is_controller or not may_mention(
        built, b"margins"
    ):  # else nothing need be reckoned: that is slow
        return ()
    snapshot = vault.latest(address)
    if snapshot is None:
        return ()
    view = view_of(State(str(address), vault, address, snapshot, is_latest=True))
    floors = view.axis.margins if view.axis is not None else {}
    return tuple(unkept(floors, margins_of(view.state))) if floors else ()


def _coverage_of_latest(vault: Vault, address: Address) -> Coverage | None:
    snapshot = vault.latest(address)
    if snapshot is None:
        return None
    return snapshot.coverage or _coverage(State(snapshot.id[:10], vault, address, snapshot))


def _coverage(state: State) -> Coverage | None:
    """What a state has of its drive's set; None where its export cannot tell any more."""
    if state.snapshot is not None and state.snapshot.coverage is not None:
        return state.snapshot.coverage
    with suppress(VaultError):  # verify tells it
        return state.coverage
    return None


def _is_approved(
    files: TipFiles, address: Address, follows: Address | None, approval: Approval
) -> bool:
    """Whether the latest snapshot is the approved one, on the machine as it was then."""
    path = layout.axis_file(address)
    return (
        follows is None
        and approval.snapshot == files.latest[address][0]
        and files.blob(path) == files.blob_at(approval.vault_at, path)
    )


def _holds_until(waivers: tuple[Waiver, ...], moment: datetime) -> datetime | None:
    return min((parse_time(w.until) for w in waivers if in_force(w, moment)), default=None)


def _export_every(built: bytes, address: Address, site: SiteRecord) -> float | None:
    """Seconds after which an export is due; the axis's own interval goes first."""
    if b"export_every" in built:  # else it need not be parsed: that is slow
        record = kept_axis(built, layout.axis_file(address))
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

    def completed(self, files: TipFiles, found: Assessment, moment: datetime) -> Assessment:
        """An assessment with what the latest snapshot differs in."""
        latest = self._vault.latest(self._address)
        if latest is None or self.is_untouched(files, latest):
            return found
        compared, differing = self.deviations(latest, is_latest=True)
        drifting = [d.change for d in differing.settings if d.drifts(moment)]
        return replace(
            found,
            settings=differing.settings,
            causes=self.causes(compared, differing),
            hardware=self.hardware(compared, differing),
            since=self.since(latest, drifting, moment) if drifting else None,
        )

    def is_untouched(self, files: TipFiles, latest: Snapshot) -> bool:
        """Whether everything is as in the axis's own baseline, told without loading values."""
        golden, built_at = self._golden.snapshot, self._golden.built_at
        if self._follows is not None or golden is None or built_at is None:
            return False
        parameters, axis = layout.parameters_file(self._address), layout.axis_file(self._address)
        one, other = golden.record, latest.record
        return (
            files.blob_at(golden.id, parameters) == self._latest_blob(files, latest, parameters)
            and files.blob_at(built_at, axis) == files.blob(axis)
            and (one.nameplate, one.family, one.family_sha256)
            == (other.nameplate, other.family, other.family_sha256)
        )

    def _latest_blob(self, files: TipFiles, latest: Snapshot, path: str) -> str:
        """Id of a file of the latest snapshot; the tip has it, unless times were put right."""
        if self._vault.index.is_redated(self._address):
            return files.blob_at(latest.id, path)
        return files.blob(path)

    def deviations(
        self, snapshot: Snapshot, *, is_latest: bool = False
    ) -> tuple[Comparison, Deviations]:
        """What differs in a snapshot, and what of it counts."""
        state = State(str(self._address), self._vault, self._address, snapshot, is_latest)
        compared = compare_states(self._golden, state).comparison
        of_twin = self._follows is not None
        views = view_of(self._golden), view_of(state)
        return compared, deviations(compared, *views, self._waivers, of_twin=of_twin)

    def causes(self, compared: Comparison, found: Deviations) -> tuple[str, ...]:
        """Why values mean something else."""
        names = {deviation.change.cause for deviation in found.settings}
        return tuple(cause.explanation for cause in compared.causes if cause.name in names)

    def hardware(self, compared: Comparison, found: Deviations) -> tuple[str, ...]:
        """Sentences about other hardware; a twin's is another one anyway."""
        if self._follows is not None:
            return ()
        plate = (s for s in compared.surroundings if s.path.startswith("nameplate."))
        return (
            *(change.explanation for change in found.hardware),
            *(
                s.explanation if None in (s.left, s.right) else surrounding_sentence(s)
                for s in plate
            ),
        )

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
        return lines <= set(parameter_lines(self._vault.read_required(path, snapshot.id), path))
