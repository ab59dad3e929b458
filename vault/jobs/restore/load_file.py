"""The file that a qualified person loads into a drive with the maker's own tool.

It is the kept export, byte for byte, where that may be. Else it is written anew in the format of
the family, with nothing but what may be loaded; of a format that is not written anew, or whose
exports hold more than a dictionary tells, it is the kept export with these values in it and all
others taken out. What was written is read back before it is given out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from vault.formats.registry import Format, Writes, WritesBack
from vault.meaning.loading import LOADED, Prepared
from vault.model.errors import VaultError, WrongUsage
from vault.model.export import SELF_DESCRIBING, Entry, Listing, Scalar
from vault.model.names import safe_file_name
from vault.model.normalise import Definition, normalise
from vault.model.parameters import Parameter, code_order
from vault.model.quantities import convert, exact_decimal

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.families import Family

_PASSED_ON = ("vendor", "product", "node_id", "node_name", "bit_rate")
"""Nameplate fields that are no hardware's own."""

_PUT_BACK = ("keyed", "fixed")
"""Formats whose exports hold more than their dictionary tells: titles, comments, ruled lines."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_ENDINGS = {"keyed": ".txt", "fixed": ".txt"}
_LAST = 1 << 30
_NOT_STATED = "the file's default, and not stated of the drive: read it off, or decide on it"


@dataclass(frozen=True, slots=True)
class LoadFile:
    """Name and content; `is_kept` for the export as it was kept."""

    name: str
    content: bytes
    is_kept: bool


@dataclass(frozen=True, slots=True)
class Receiver:
    """The drive that is to be loaded: family (None where an export describes itself), format by its
    name and with its container, channel, and the nameplate that the file states."""

    family: Family | None
    format: str
    form: Format
    channel: int | None
    nameplate: Mapping[str, str]

    @property
    def is_written_anew(self) -> bool:
        """Whether a file of its format can be made without one that there is."""
        return isinstance(self.form, Writes)

    @property
    def firmware(self) -> str | None:
        """Its firmware."""
        return self.nameplate.get("firmware")


def passed_on(nameplate: Mapping[str, str]) -> dict[str, str]:
    """What of a nameplate holds for a replacement too."""
    return {name: nameplate[name] for name in _PASSED_ON if nameplate.get(name)}


def in_loading_order(rows: Iterable[Prepared]) -> list[Prepared]:
    """Rows that the load file holds: what scales others before what it scales."""
    loaded = [row for row in rows if row.loaded is not None]
    return sorted(loaded, key=_place)


def _place(row: Prepared) -> tuple[object, ...]:
    order = row.definition.order if row.definition is not None else None
    return (_LAST if order is None else order, code_order(row.shown.code))


def left_open(rows: Sequence[Prepared], not_stated: Collection[str]) -> list[Prepared]:
    """Take out of the load file what the target does not state of its drive: a person decides."""
    return [
        replace(row, status="decision", loaded=None, offered=None, reason=_NOT_STATED)
        if row.target.code in not_stated and row.why_never is None
        else row
        for row in rows
    ]


def by_hand(rows: Sequence[Prepared], receiver: Receiver) -> list[Prepared]:
    """Take out of the load file what its format cannot hold: a person types that in."""
    return [_checked(row, receiver) for row in rows]


def _checked(row: Prepared, receiver: Receiver) -> Prepared:
    loaded = row.loaded
    if loaded is None or not isinstance(loaded.value, str) or not receiver.is_written_anew:
        return row
    reason = None
    if receiver.format == "delimited" and loaded.value.startswith(_FORMULA):
        reason = "its text begins as a formula of a spreadsheet does"
    else:
        try:
            written(receiver, [row])
        except WrongUsage as error:
            reason = error.message
    return row if reason is None else _typed(row, reason)


def all_by_hand(rows: Sequence[Prepared], reason: str) -> list[Prepared]:
    """Take every row out of a load file that cannot be made."""
    return [row if row.loaded is None else _typed(row, reason) for row in rows]


def _typed(row: Prepared, reason: str) -> Prepared:
    said = f"to be typed in by hand: {reason}"
    return replace(row, status="decision", loaded=None, reason=said)


def written(receiver: Receiver, rows: Sequence[Prepared]) -> bytes:
    """Write rows in the format of the receiver. Raises WrongUsage for what it cannot hold."""
    family = receiver.family
    dialect = family.export if family is not None else None
    holds = (
        dialect.holds if dialect is not None and receiver.format not in SELF_DESCRIBING else "raw"
    )
    entries = [
        _entry(row.loaded, row.definition, holds)
        for row in in_loading_order(rows)
        if row.loaded is not None and row.definition is not None
    ]
    listing = Listing(
        format=receiver.format,
        entries=tuple(entries),
        nameplate={k: v for k, v in receiver.nameplate.items() if not v.startswith(_FORMULA)},
        holds=holds,
        encoding=dialect.encoding[0] if dialect is not None else "utf-8",
        channel=receiver.channel,
        channels=() if receiver.channel is None else (receiver.channel,),
    )
    if not isinstance(receiver.form, Writes):
        raise WrongUsage(f"a file of the format {receiver.format} cannot be written anew")
    return receiver.form.write(listing, dialect=dialect)


def _entry(parameter: Parameter, definition: Definition, holds: str) -> Entry:
    kind = definition.data_type
    return Entry(
        code=parameter.code,
        written=parameter.raw if holds == "raw" else parameter.value,
        line=0,
        name="" if definition.name.startswith(_FORMULA) else definition.name,
        unit=definition.unit or "",
        data_type=kind.name if kind is not None else None,
        access="rw",
    )


def new_load_file(
    receiver: Receiver, rows: Sequence[Prepared], name: str, kept: Export | None
) -> LoadFile:
    """Make a load file and read it back. `kept` is the export of the axis, where it is of it alone.

    Raises WrongUsage for what the format cannot hold, VaultError where it says anything else.
    """
    is_put_back = receiver.format in _PUT_BACK and kept is not None
    content = (
        written(receiver, rows)
        if receiver.is_written_anew and not is_put_back
        else _put_into(receiver, kept, rows, name)
    )
    found = read_back(receiver, content, name)
    wanted = {row.loaded.code: row.loaded for row in rows if row.loaded is not None}
    wrong = [code for code in wanted.keys() | found.keys() if not _same(wanted, found, code)]
    if wrong:
        shown = ", ".join(sorted(wrong, key=code_order)[:5])
        raise VaultError(f"the load file does not read back as planned: {shown}", file=name)
    return LoadFile(name, content, is_kept=False)


def _put_into(
    receiver: Receiver, kept: Export | None, rows: Sequence[Prepared], name: str
) -> bytes:
    """The export with what may be loaded, and without all that may not."""
    family, form = receiver.family, receiver.form
    if kept is None or not isinstance(form, WritesBack):
        reason = f"a file of the format {receiver.format} is made from an export of the axis alone"
        raise WrongUsage(f"{reason}, and there is none")
    listing = kept.listing
    loaded = {row.target.code: row for row in rows if row.loaded is not None}
    entries = {entry.code: entry for entry in listing.entries}
    return form.write_back(
        kept.content,
        {
            code: _as_in(entries[code], row, listing.holds)
            for code, row in loaded.items()
            if row.loaded is not None and row.loaded.raw != row.target.raw
        },
        file=name,
        dialect=family.export if family is not None else None,
        channel=receiver.channel,
        drop=[code for code in entries if code not in loaded],
    )


def _as_in(entry: Entry, row: Prepared, holds: str) -> Scalar:
    """What is loaded in the terms of the entry that it takes the place of: its unit, its words."""
    loaded, target = row.loaded, row.target
    assert loaded is not None
    if isinstance(entry.written, str) and loaded.label is not None:
        return loaded.label
    if holds == "raw" or isinstance(loaded.value, str):
        return loaded.raw
    if loaded.unit and target.unit and loaded.unit != target.unit:
        value = exact_decimal(convert(loaded.value, loaded.unit, target.unit))
        if value is None:
            raise WrongUsage(f"{loaded.code} cannot be written in {target.unit} exactly")
        return value
    return loaded.value


def read_back(receiver: Receiver, content: bytes, name: str) -> dict[str, Parameter]:
    """What a load file says, by the dictionary of the drive that it is for."""
    family = receiver.family
    dialect = family.export if family is not None else None
    read = receiver.form.read(content, file=name, dialect=dialect, channel=receiver.channel)
    plate = dict(read.nameplate)
    if receiver.firmware is not None:
        plate["firmware"] = receiver.firmware
    normalised = normalise(replace(read, nameplate=plate), family)
    if normalised.skipped:
        first = normalised.skipped[0]
        raise VaultError(f"a line does not read back: {first.reason}", file=name, line=first.line)
    return dict(normalised.parameters)


def _same(wanted: Mapping[str, Parameter], found: Mapping[str, Parameter], code: str) -> bool:
    planned, read = wanted.get(code), found.get(code)
    return planned is not None and read is not None and planned.raw == read.raw


def file_name(export_name: str, stem: str, family: Family | None, *, same: bool) -> str:
    """Name of a load file: with the ending that exports of the family have."""
    ending = PurePosixPath(export_name).suffix if same else ""
    if not ending:
        form = family.export.format if family is not None else "delimited"
        ending = f".{form}" if form in SELF_DESCRIBING else _ENDINGS.get(form, ".csv")
    return safe_file_name(f"{stem}-load{ending}")


def keeps(rows: Iterable[Prepared]) -> str | None:
    """Why the kept export cannot be loaded as it is; None where it can."""
    for row in rows:
        if row.why_never == "safety" and row.definition is not None:
            if row.definition.access not in ("ro", "const"):
                return "it holds safety-function parameters, which are never prepared for loading"
        elif row.why_never is None:
            if row.status not in LOADED or row.loaded is None:
                return f"{row.target.name} ({row.target.code}) cannot be loaded as it is"
            if row.loaded.raw != row.target.raw:
                return f"{row.target.name} ({row.target.code}) is adapted"
    return None
