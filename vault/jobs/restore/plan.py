"""A restore plan: what goes into the drive that is fitted instead of one that failed.

The plan is worked out here and changes nothing. `vault.jobs.restore.plan_folder` writes it down.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

from vault.formats.registry import Format, format_named
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.restore.known_firmware import knows_firmware
from vault.jobs.restore.load_file import (
    LoadFile,
    Receiver,
    all_by_hand,
    by_hand,
    file_name,
    keeps,
    left_open,
    new_load_file,
    passed_on,
)
from vault.jobs.restore.plan_remarks import plan_remarks
from vault.jobs.restore.target import default_target
from vault.jobs.state.left_out import Named, named_lines
from vault.jobs.state.selectors import State, resolve, view_of
from vault.jobs.state.whole_set import taken_in_although, why_not_whole
from vault.meaning.axis_view import AxisView
from vault.meaning.hardware import Fitted, HardwareMatch, firmware_line, match_hardware, plain_line
from vault.meaning.loading import Prepared, only_fitted, transfer, worst_first
from vault.meaning.other_family import carry_over
from vault.model.cached_property import cached_property
from vault.model.coverage import NOT_WHOLE, Remark
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.normalise import Definition, family_definitions
from vault.model.patterns import is_found
from vault.model.restore import Adapted, plan_number
from vault.store.clock import now, time_text
from vault.store.files.edited_files import cached_axis
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.restore.request import PlanRequest
    from vault.model.axis import AxisRecord
    from vault.model.export import SkippedLine
    from vault.model.families import Family
    from vault.model.replacement import Replacement
    from vault.store.vault import FamilyFile, Vault


@dataclass(frozen=True)
class RestorePlan:
    """Everything that a person needs to restore an axis.

    `rows` are the target's parameters, `added` the settings of the drive that the target does not
    tell. `kept` tells why the load file is not the export as it was kept, None where it is.
    `not_whole` is why the target is not a drive's whole set, None where it is,
    `golden_override_reason` why it was approved as golden baseline all the same. `proposed`
    are corrections for what is fitted, `left` the codes of those that are not made.
    """

    vault: Vault
    address: Address
    target: State
    chosen: str
    fitted: Replacement
    hardware: HardwareMatch
    family: Family | None
    is_other_family: bool
    firmware: str | None
    rows: tuple[Prepared, ...]
    added: tuple[Definition, ...]
    adapted: tuple[Adapted, ...]
    load_file: LoadFile | None
    not_kept: str | None
    warnings: tuple[str, ...]
    made_at: datetime
    not_whole: str | None = None
    override_reason: str | None = None
    golden_override_reason: str | None = None
    proposed: tuple[Prepared, ...] = ()
    left: frozenset[str] = frozenset()

    @property
    def number(self) -> str:
        """What people call the plan."""
        return plan_number(self.made_at, self.id)

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Why the target is not the whole set, or may not be, and why it is taken all the same."""
        told = self.target.coverage.told()
        if self.not_whole is None:
            return told
        said = (
            f"{self.not_whole} Restored all the same: {self.override_reason or 'no reason given'}."
        )
        if self.golden_override_reason:
            said += f" Approved as golden all the same: {self.golden_override_reason}."
        said += " What is not here must be set by hand, by who knows the machine."
        return (Remark(NOT_WHOLE, said), *(one for one in told if one.title != NOT_WHOLE))

    @property
    def axis(self) -> AxisRecord | None:
        """The axis as built."""
        return self.target.axis

    @cached_property
    def id(self) -> str:
        """Names the plan: target, load file and moment, digested."""
        file = self.load_file.content if self.load_file is not None else b""
        snapshot = self.target.snapshot
        parts = (str(self.address), snapshot.id if snapshot else "", time_text(self.made_at))
        return digest("\n".join(parts).encode() + b"\n" + file)[:16]

    @cached_property
    def loaded(self) -> list[Prepared]:
        """Rows that the load file holds."""
        return [row for row in self.rows if row.loaded is not None]

    @cached_property
    def not_understood(self) -> list[Prepared]:
        """Rows that the load file holds although nobody said what they do."""
        return [row for row in self.loaded if row.target.role is None]

    @cached_property
    def open_rows(self) -> list[Prepared]:
        """Settings of the target that the load file does not hold, and should be looked at."""
        return worst_first(r for r in self._not_loaded if r.was_set)

    @cached_property
    def left_out(self) -> list[tuple[SkippedLine, Named | None]]:
        """Lines that were left out of the target, with the parameter that each is of if known."""
        return named_lines(self.target)

    @cached_property
    def untouched(self) -> list[Prepared]:
        """Settings that the load file does not hold, and that stood as delivered anyway."""
        return worst_first(r for r in self._not_loaded if not r.was_set)

    @property
    def _not_loaded(self) -> list[Prepared]:
        return [r for r in self.rows if r.loaded is None and r.why_never is None]

    @cached_property
    def rounded(self) -> list[Prepared]:
        """Rows that do not hold quite what the target has."""
        return worst_first(r for r in self.loaded if r.status == "rounded")

    def never(self, why: str) -> list[Prepared]:
        """Rows that are never prepared, for one reason."""
        return [row for row in self.rows if row.why_never == why]


def make_plan(vault: Vault, request: PlanRequest) -> RestorePlan:
    """Work out a plan for an axis, or for one of its states. Raises WrongUsage, Refused."""
    fitted = request.fitted
    target, chosen, warnings = _target(vault, request.selector)
    address = target.address
    if address is None:
        raise WrongUsage("a plan restores an axis of the vault", hint="MACHINE/AXIS[@WHEN]")
    source = _Source.of(vault, target, fitted, request.onto)
    view = source.view(target, fitted)
    if source.is_other_family:
        rows = carry_over(view, source.there)
    else:
        rows = transfer(view.parameters.values(), source.kept, source.there)
    loaded = {row.loaded.code for row in rows if row.loaded is not None}
    added = only_fitted(view.parameters.values(), source.there, source.is_other_family)
    added = [definition for definition in added if definition.code not in loaded]
    told = fitted.firmware
    is_known = told is None or knows_firmware(vault, source.family, told)
    kept = target.nameplate.get("firmware")
    firmware = firmware_line(kept, told, rows, added, is_known=is_known)
    if source.is_other_family:
        firmware = firmware_line(None, told, [], [], is_known=is_known)
        if is_known:
            firmware = Fitted("firmware", None, told, "not_told")
    match = match_hardware(view, fitted, source.there, _drive(target, fitted, source), firmware)
    if source.is_other_family:  # what depends on encoder and ratings is worked out for it already
        match = replace(match, corrections=())
    not_stated = target.coverage.defaults
    corrections = (one for one in match.corrections if one.target.code not in not_stated)
    match = replace(match, corrections=tuple(corrections))
    proposed = _proposed(rows, match, not_stated)
    left = request.left_as_they_were(proposed)
    rows = [row if row.target.code in left else _adapted(row, match) for row in rows]
    receiver = source.receiver(target, fitted)
    rows = by_hand(left_open(rows, not_stated), receiver)
    try:
        load_file, not_kept = _load_file(target, source, receiver, rows)
    except WrongUsage as error:  # a format that holds no such file: a person types it in
        load_file, not_kept = None, error.message
        rows = all_by_hand(rows, error.message)
    return RestorePlan(
        vault=vault,
        address=address,
        target=target,
        chosen=chosen,
        fitted=fitted,
        hardware=match,
        family=source.family,
        is_other_family=source.is_other_family,
        firmware=source.firmware,
        rows=tuple(rows),
        added=tuple(added),
        adapted=tuple(_differing(rows, proposed.keys() - left)),
        load_file=load_file,
        not_kept=not_kept,
        warnings=(
            *_although(target),
            *warnings,
            *plan_remarks(target, match, rows, left),
        ),
        made_at=now(),
        not_whole=why_not_whole(target),
        override_reason=request.override_reason,
        golden_override_reason=_approved_because(vault, target),
        proposed=tuple(worst_first(proposed.values())),
        left=left,
    )


def _although(target: State) -> tuple[str, ...]:
    told = taken_in_although(target)
    return () if told is None else (told,)


def _approved_because(vault: Vault, target: State) -> str | None:
    """Why the target was approved as golden baseline although it is not whole."""
    if target.address is None or target.snapshot is None:
        return None
    approval = vault.golden(target.address).approval
    is_golden = approval is not None and approval.snapshot == target.snapshot.id
    return approval.override_reason if approval is not None and is_golden else None


def _target(vault: Vault, selector: str) -> tuple[State, str, list[str]]:
    name, marked, when = selector.partition("@")
    if marked:
        return resolve(vault, selector), when, []
    return default_target(vault, vault.require_whole_axis(vault.address(name)))


@dataclass(frozen=True, slots=True)
class _Source:
    """Dictionaries on both sides: `kept` of the target, `there` of the drive to be loaded."""

    family: Family | None
    is_other_family: bool
    firmware: str | None
    kept: Mapping[str, Definition]
    there: Mapping[str, Definition]
    format: str
    form: Format
    reread: Export | None = None
    channel: int | None = None
    shares_export: bool = False

    @classmethod
    def of(cls, vault: Vault, target: State, fitted: Replacement, onto: str | None) -> _Source:
        own = target.family_name
        kept = target.definitions
        if onto is not None and onto != own:
            file = vault.family_file(onto)
            there = family_definitions(file.family, fitted.firmware)
            name = file.family.export.format
            return cls(file.family, True, fitted.firmware, kept, there, name, format_named(name))
        export = target.kept_export()
        channel, shares = export.listing.channel, len(export.listing.channels) > 1
        firmware = target.nameplate.get("firmware")
        if fitted.firmware in (None, firmware) or own is None:
            return cls(
                target.family, False, fitted.firmware or firmware, kept, kept,
                export.listing.format, export.format, channel=channel, shares_export=shares,
            )  # fmt: skip
        # Another firmware: by the dictionary of today, which may know more of it.
        file = vault.family_file(own)
        reread = _read_again(target, file)
        now_kept = reread.definitions
        listed = family_definitions(file.family, firmware)
        there = dict(family_definitions(file.family, fitted.firmware))
        there |= {code: d for code, d in now_kept.items() if code not in listed}
        return cls(
            file.family, False, fitted.firmware, now_kept, there, export.listing.format,
            export.format, reread, channel, shares,
        )  # fmt: skip

    def view(self, target: State, fitted: Replacement) -> AxisView:
        """The target as the drive to be loaded has to take it over."""
        text = self.reread.parameters_text if self.reread is not None else None
        view = view_of(target, text=text)
        plate = dict(target.nameplate)
        if self.is_other_family and fitted.encoder_single_turn_bits is not None:
            plate["encoder_single_turn_bits"] = str(fitted.encoder_single_turn_bits)
        return AxisView(
            view.name,
            view.text,
            view.family,
            lambda: self.kept,
            nameplate=plate,
            axis_text=view.axis_text,
            read_axis=lambda content: cached_axis(content, "axis.yaml"),
        )

    def receiver(self, target: State, fitted: Replacement) -> Receiver:
        """The drive as the load file addresses it."""
        plate = passed_on(target.nameplate)
        drive = fitted.drive or (None if self.is_other_family else target.nameplate.get("drive"))
        plate |= {k: v for k, v in (("drive", drive), ("firmware", self.firmware)) if v}
        if self.is_other_family:
            plate.pop("vendor", None)
            plate.pop("product", None)
        channel = self.channel
        if self.is_other_family and self.family is not None:
            channel = 1 if self.family.export.channel is not None else None
        return Receiver(self.family, self.format, self.form, channel, plate)


def _read_again(target: State, file: FamilyFile) -> Export:
    record = target.record
    name, channel = (target.name, None) if record is None else (record.export_name, record.channel)
    pick = None if record is None else record.pick
    content = target.export_content()
    return read_export(content, name, file, channel=channel, partial=True, pick=pick)


def _drive(target: State, fitted: Replacement, source: _Source) -> Fitted:
    kept = target.nameplate.get("drive")
    line = plain_line("drive", kept, fitted.drive, "compatible")
    if fitted.drive is None or line.verdict == "same" or source.family is None:
        return line
    pattern = source.family.export.recognise.get("drive")
    if pattern is not None and not is_found(pattern, fitted.drive):
        sentence = f"{fitted.drive} is no order code of family {source.family.name}."
        if not source.is_other_family:
            sentence += " For a drive of another family name that: --onto FAMILY."
        return replace(line, verdict="not_compatible", sentences=(sentence,))
    if source.is_other_family:
        sentence = f"A drive of another family, {source.family.title}: values are carried over by "
        return replace(line, sentences=(f"{sentence}what they mean.",))
    sentence = "Another order code of the family: compare rated current, supply and options on the "
    return replace(line, sentences=(f"{sentence}plates, and the pins of every plug.",))


def _proposed(
    rows: list[Prepared], match: HardwareMatch, not_stated: Collection[str]
) -> dict[str, Prepared]:
    """Corrections by code: for the fitted hardware, and limits instead of values beyond them."""
    beyond = {row.target.code: row for row in rows if row.offered is not None}
    proposed = {row.target.code: row for row in match.corrections}
    return proposed | {code: beyond[code] for code in beyond.keys() - proposed - set(not_stated)}


def _adapted(row: Prepared, match: HardwareMatch) -> Prepared:
    """A row with what it has to be corrected to, or with the limit that it lies beyond."""
    for correction in match.corrections:
        if correction.target.code == row.target.code:
            loaded = correction.loaded or correction.offered
            return replace(row, loaded=loaded, status=correction.status, reason=correction.reason)
    return replace(row, loaded=row.offered) if row.offered is not None else row


def _differing(rows: list[Prepared], corrected: Collection[str]) -> list[Adapted]:
    return [
        Adapted(row.loaded.code, str(row.loaded.raw), row.reason)
        for row in rows
        if row.loaded is not None and row.target.code in corrected
    ]


def _load_file(
    target: State, source: _Source, receiver: Receiver, rows: list[Prepared]
) -> tuple[LoadFile | None, str | None]:
    record = target.record
    name = record.export_name if record is not None else "export"
    same = not source.is_other_family
    why = None if same else "it is for another family"
    if same and source.reread is not None:
        why = "it is for another firmware"
    if why is None and source.shares_export:
        why = "it holds other axes too"
    if why is None and target.coverage.left_out:
        why = "it holds lines that could not be read"
    why = why or keeps(rows)
    if all(row.loaded is None for row in rows):
        return None, "no value of the target may be loaded"
    if why is None:
        return LoadFile(name, target.export_content(), is_kept=True), None
    stem = "axis" if (at := target.address) is None else "-".join(at.shown)
    new = file_name(name, stem, source.family, same=same)
    is_own = same and not source.shares_export and not target.coverage.left_out
    return new_load_file(receiver, rows, new, target.kept_export() if is_own else None), why
