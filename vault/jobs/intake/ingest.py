"""Taking exports into the vault."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.drift import drift_if_any
from vault.jobs.intake import wrong_axis
from vault.jobs.state.read_export import ReadExport, file_bytes, read_export
from vault.jobs.state.selectors import State
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.names import Address, safe_file_name
from vault.model.normalise import VERSION, definitions
from vault.model.snapshots import SnapshotRecord, checked_occasion, checked_person
from vault.model.visible_text import one_line, several_lines
from vault.store.clock import microseconds, now, parse_time
from vault.store.files import layout, yaml_text
from vault.store.files.edited_files import cached_axis
from vault.store.files.snapshot_text import digest
from vault.store.recorder import Recorder, recording
from vault.store.vault import Vault

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.store.index.rows import Snapshot

DEFAULT_OCCASION = "routine"


@dataclass(frozen=True, slots=True)
class Visit:
    """Who brings an export, when it was taken and why.

    `otherwise` is when it was taken where neither anybody nor the export says so; else now.
    """

    by: str
    occasion: str = DEFAULT_OCCASION
    taken_at: datetime | None = None
    work_order: str | None = None
    note: str | None = None
    channel: int | None = None
    partial: bool = False
    even_so: str | None = None
    restores: str | None = None
    moved: str | None = None
    otherwise: datetime | None = None


@dataclass(frozen=True, slots=True)
class Ingested:
    """What became of one export.

    `comparison` is against the snapshot before it, if any; `drift` tells how the axis stands to its
    golden baseline, if it has one.
    """

    snapshot: Snapshot
    parameters: int
    warnings: tuple[str, ...]
    comparison: Comparison | None
    drift: AxisDrift | None = None

    @property
    def unchanged(self) -> bool:
        """Whether the settings are those of the snapshot before."""
        return self.comparison is not None and self.comparison.is_unchanged


def visit(
    by: str,
    occasion: str = DEFAULT_OCCASION,
    taken_at: str | None = None,
    work_order: str | None = None,
    note: str | None = None,
    *,
    channel: int | None = None,
    partial: bool = False,
    even_so: str | None = None,
) -> Visit:
    """Check what a person typed. Raises WrongUsage naming what is wrong."""
    return Visit(
        by=checked_person(by),
        occasion=checked_occasion(occasion),
        taken_at=parse_time(taken_at) if taken_at else None,
        work_order=one_line(several_lines(work_order)) or None,
        note=several_lines(note) or None,
        channel=channel,
        partial=partial,
        even_so=one_line(several_lines(even_so)) or None,
    )


def ingest(
    vault: Vault,
    path: Path,
    address: Address,
    who: Visit,
    *,
    family: str | None = None,
) -> Ingested:
    """Take one export in. Nothing is written unless all of it can be.

    Raises Unreadable for the file, Refused where a guard objects, WrongUsage for names.
    """
    file = str(path)
    content = file_bytes(path)
    with vault.writing():
        intake = Intake(vault)
        read = intake.read(content, file, address, family, who)
        with recording(vault) as recorder:
            found = intake.record(recorder, read, address, who)
        remarks = list(found.warnings)
        try:
            found = replace(found, drift=drift_if_any(vault, address))
        except VaultError as error:  # the export is in, whatever is wrong with the baseline
            remarks.append(f"how it stands to the golden baseline cannot be told: {error}")
    remarks += alert(vault, [address])
    return replace(found, warnings=tuple(remarks))


class Intake:
    """Reads and records exports against one state of the vault, which is held for writing."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault
        self._known = {name: vault.family_file(name) for name in vault.family_names()}
        self._places: dict[str, str] = {}
        self._fitting: set[Address] = set()

    def read(
        self, content: bytes, file: str, address: Address, family: str | None, who: Visit
    ) -> ReadExport:
        """Read an export with the family named, else by its looks."""
        self._check_place(address)
        latest = self._vault.latest(address) if family is None else None
        named = self._known.get(family) or self._vault.family_file(family) if family else None
        return read_export(
            content,
            file,
            named,
            known=self._known.values(),
            usual=latest.record.family if latest is not None else None,
            channel=who.channel,
            partial=who.partial,
        )

    def record(
        self, recorder: Recorder, read: ReadExport, address: Address, who: Visit
    ) -> Ingested:
        """Record an export that was read. Raises Refused where it seems to belong elsewhere."""
        record = snapshot_record(read, who)
        warnings = list(read.normalised.warnings)
        if record.taken_at > now() + timedelta(days=1):
            warnings.append(f"taken-at {record.taken_at:%Y-%m-%d %H:%M} lies in the future")
        found = wrong_axis.suspicion(self._vault, address, read, record, recorder.parameters_of)
        if found is not None and not who.even_so:
            raise found.refused(read.file)
        if found is not None:
            record = replace(record, even_so=who.even_so)
            warnings.append(f"taken in although {found.reason}")
        before = self._vault.index.at(address, microseconds(record.taken_at))
        text_before = self._text_of(before, recorder) if before is not None else None
        text = yaml_text.parameters_text(read.normalised.parameters)
        snapshot = recorder.record(address, record, text, read.content, read.family)
        self._spelled(address)
        return Ingested(
            snapshot=snapshot,
            parameters=len(read.normalised.parameters),
            warnings=tuple(warnings),
            comparison=self._comparison(text_before, text, before, read),
        )

    def _text_of(self, before: Snapshot, recorder: Recorder) -> bytes:
        if before.record.normalisation != VERSION:
            return State(before.id[:10], self._vault, before.address, before).parameters_text
        return recorder.parameters_of(before)

    def _comparison(
        self, text_before: bytes | None, text: bytes, before: Snapshot | None, read: ReadExport
    ) -> Comparison | None:
        if before is None or text_before is None:
            return None
        axis_text = self._vault.read(layout.axis_file(before.address))
        views = (
            AxisView(
                f"{before.id[:10]}: parameters.yaml",
                text_before,
                before.record.family,
                lambda: definitions(read.export, read.dictionary),
                nameplate=before.record.nameplate,
                axis_text=axis_text,
                read_axis=_read_axis,
            ),
            AxisView(
                read.file,
                text,
                read.family.name if read.family else None,
                lambda: definitions(read.export, read.dictionary),
                nameplate=read.export.nameplate,
                axis_text=axis_text,
                read_axis=_read_axis,
            ),
        )
        return compare(*views)

    def _check_place(self, address: Address) -> None:
        """Refuse a name that differs from another one in case only."""
        if address in self._fitting:
            return
        for name in (address.machine, str(address)):
            spelled = self._places.get(name.casefold(), name)
            if spelled == name and name == str(address):
                spelled = self._vault.case_clash(address) or name
            if spelled != name:
                raise WrongUsage(
                    f"{name!r} differs from {spelled!r} in upper and lower case only",
                    hint="some of the systems that vaults are copied to take them for the same",
                )

    def _spelled(self, address: Address) -> None:
        """Remember how the names are spelled that are in use from now on."""
        self._fitting.add(address)
        for name in (address.machine, str(address)):
            self._places[name.casefold()] = name


def _read_axis(text: bytes) -> AxisRecord:
    return cached_axis(text, "axis.yaml")


def own_time(read: ReadExport) -> datetime | None:
    """When an export says that it was taken, if it does. Raises Unreadable for an unlikely time."""
    if not read.export.taken_at:
        return None
    try:
        return parse_time(read.export.taken_at)
    except WrongUsage as error:  # as after a dead battery of the drive's clock
        raise Unreadable(
            f"the export says when it was taken, but {error.message}",
            file=read.file,
            hint="say it yourself: --taken-at TIME",
        ) from error


def snapshot_record(read: ReadExport, who: Visit) -> SnapshotRecord:
    """The record of an export that was read; its time is as told, else its own, else now."""
    return SnapshotRecord(
        taken_at=who.taken_at or own_time(read) or who.otherwise or now(),
        occasion=who.occasion,
        by=who.by,
        export_name=safe_file_name(read.file),
        export_sha256=digest(read.content),
        normalisation=VERSION,
        family=read.family.name if read.family else None,
        family_sha256=digest(read.family.content) if read.family else None,
        channel=read.export.channel,
        nameplate=read.export.nameplate,
        work_order=who.work_order,
        note=who.note,
        skipped=read.normalised.skipped,
        restores=who.restores,
        moved=who.moved,
    )
