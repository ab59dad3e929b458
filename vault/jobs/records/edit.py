"""Files that people write: adding, listing, reading. The bytes they wrote are kept."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from vault.formats.registry import RecognisesFamilies, Writes, format_named
from vault.jobs.records.axis_edits import edited, neighbours
from vault.jobs.records.axis_remarks import (
    check_floors,
    doubts_of_duty,
    misplaced,
    shared_address,
)
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.internal_errors import internal_error, told_apart
from vault.model.names import CASE_HINT, Address, whole_axis
from vault.model.visible_text import one_line
from vault.store.files import layout, yaml_text
from vault.store.files.edited_files import (
    family_problems,
    kept_axis,
    read_axis,
    read_family,
    read_site,
    refusal,
)
from vault.store.files.vault_format import format_of, with_format
from vault.store.local.outbox import Outbox
from vault.store.vault import FamilyFile, Vault

if TYPE_CHECKING:
    from vault.meaning.changes import Surrounding
    from vault.meaning.surrounding_consequences import Neighbours
    from vault.model.axis import AxisRecord
    from vault.model.corrections import Correction
    from vault.model.families import Family
    from vault.store.index.rows import Snapshot

_SIGNER = re.compile(r"\S+( \S+)*? (ssh-|ecdsa-|sk-)\S+ [A-Za-z0-9+/=]{40,}( .*)?$")
Failed = Callable[[VaultError], None]
_MAX_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class RecordAdded:
    """What became of a file: `unchanged` where the vault had the same bytes already.

    `changes` are those of an axis as built, `is_reworded` where only comments and layout of one
    changed; `remarks` are for the reader.
    """

    name: str
    unchanged: bool
    commit: str
    changes: tuple[Surrounding, ...] = ()
    remarks: tuple[str, ...] = ()
    is_reworded: bool = False


def add_family(vault: Vault, path: Path, by: str) -> RecordAdded:
    """Put a dictionary into the vault. Raises Unreadable with file, line and key."""
    file = read_dictionary(path)
    place, message = layout.family_file(file.name), f"Family {file.name}"
    added = _put(vault, place, file.content, message, by, file.family.vault_format)
    return replace(added, name=file.name)


def read_dictionary(path: Path) -> FamilyFile:
    """A dictionary on disk that a vault would take. Raises Unreadable with file, line and key."""
    content = file_content(path)
    return FamilyFile(checked_family(content, str(path)).name, content)


def add_new_family(
    vault: Vault, content: bytes, file: str, by: str, drafted_by: str = ""
) -> RecordAdded:
    """Put a dictionary into the vault that has none of its name. Raises WrongUsage otherwise.

    `drafted_by` is who made it, where that is somebody else: the commit names both.
    """
    family = checked_family(content, file)
    with vault.writing():
        if family.name in vault.family_names():
            raise WrongUsage(
                f"the vault has a family {family.name} already", hint="give this one another name"
            )
        place, message = layout.family_file(family.name), f"Family {family.name}"
        if drafted_by:
            message += f"\n\nDrafted by {one_line(drafted_by)}"
        added = put(vault, place, content, message, by, family.vault_format)
    return replace(added, name=family.name)


def rewrite_family(
    vault: Vault, name: str, rewrite: Callable[[FamilyFile], bytes], message: str, by: str
) -> RecordAdded:
    """Put a new version of a dictionary in, made from the one that the vault has by then.

    What was wrong with that one may stay as it is. Raises Unreadable with file, line and key.
    """
    with vault.writing():
        file = vault.family_file(name)
        content = rewrite(file)
        place = layout.family_file(name)
        family = checked_family(content, place, {problem.text for problem in file.problems})
        added = put(vault, place, content, message, by, family.vault_format)
    return replace(added, name=name)


def checked_family(content: bytes, file: str, known: Collection[str] = ()) -> Family:
    """A dictionary that works with exports. Raises Unreadable with file, line and key.

    `known` are keys of which it is known already that something is wrong with them.
    """
    family = read_family(content, file)
    problems = [one for one in family_problems(family, content) if one.text not in known]
    if problems:
        raise refusal(tuple(problems), file)
    _tried(family, content, file)
    return family


def _tried(family: Family, content: bytes, file: str) -> None:
    """Write, recognise and list an export by a dictionary. Raises Unreadable."""
    dialect = family.export
    plate = dict.fromkeys(dialect.nameplate.values(), "1")
    listing = Listing(dialect.format, (Entry("1", 1, 0),), plate, encoding=dialect.encoding[0])
    try:
        form = format_named(dialect.format)
        sample = b"1"
        with suppress(VaultError):  # it may need an axis, or hold what is written back alone
            sample = form.write(listing, dialect=dialect) if isinstance(form, Writes) else sample
        if isinstance(form, RecognisesFamilies):
            form.matches(sample, dialect)
            with suppress(VaultError):
                form.read(sample, file=file, dialect=dialect, channel=None)
        family.definitions("1.0")
    except WrongUsage as error:
        line = yaml_text.line_of(content, ("export", "format"))
        raise Unreadable(f"export.format: {error.message}", file=file, line=line) from error
    except Exception as error:
        told = internal_error(error, f"dictionary {family.name}")
        raise Unreadable(
            f"an export cannot be looked at with this dictionary: {told.message}", file=file, line=1
        ) from error


def list_families(vault: Vault, failed: Failed) -> list[FamilyFile]:
    """All dictionaries that can be read, by name; `failed` gets what is wrong with the others."""
    found = []
    for name in vault.family_names():
        with told_apart(failed, f"dictionary {name}"):
            file = vault.family_file(name)
            _ = file.family, file.problems
            found.append(file)
    return found


def set_axis(vault: Vault, address: Address, path: Path, by: str) -> RecordAdded:
    """Put an axis record into the vault. Raises Unreadable with file, line and key."""
    content = file_content(path)
    return rewrite_axis(vault, address, lambda _: content, str(path), by)


def rewrite_axis(
    vault: Vault,
    address: Address,
    rewrite: Callable[[bytes | None], bytes],
    file: str,
    by: str,
    check: Callable[[AxisRecord | None, AxisRecord], None] = lambda before, after: None,
) -> RecordAdded:
    """Put in an axis record that is made from the one that the vault has by then.

    `check` may refuse it: it gets the record of before, None where that cannot be read. Raises
    Unreadable with file, line and key, WrongUsage for a name that
    the vault has in other letters.
    """
    address = whole_axis(vault.names.find(address))
    if clash := vault.case_clash(address):
        raise WrongUsage(clash, hint=CASE_HINT)
    around = partial(neighbours, vault, address)
    with vault.writing():
        place = layout.axis_file(address)
        stored = vault.read(place)
        content = rewrite(stored)
        record = read_axis(content, file)
        check_floors(record, content, file)
        before, remarks = _before(vault, address)
        nothing = record.model_validate({"schema": record.schema_})
        check(nothing if stored is None else before, record)
        changes = _changes(before, record, around, remarks) if before is not None else ()
        message = f"{address}: axis as built"
        added = put(vault, place, content, message, by, record.vault_format)
        with told_apart(lambda error: remarks.append(str(error)), f"neighbours of {address}"):
            remarks += shared_address(address, record, around())
        remarks += misplaced(record)
        with told_apart(lambda error: remarks.append(str(error)), f"duty of {address}"):
            remarks += doubts_of_duty(vault, address)
    is_reworded = before is not None and not changes and not added.unchanged
    return replace(added, changes=changes, remarks=tuple(remarks), is_reworded=is_reworded)


def _changes(
    before: AxisRecord, record: AxisRecord, around: Neighbours, remarks: list[str]
) -> tuple[Surrounding, ...]:
    """What a new record changes; one that a formula fails at can be put right all the same."""
    try:
        return edited(before, record, around)
    except Exception as error:
        told = error if isinstance(error, VaultError) else internal_error(error, "axis record")
        remarks.append(f"what it changes cannot be told: {told}")
        return ()


def _before(vault: Vault, address: Address) -> tuple[AxisRecord | None, list[str]]:
    """The record that a new one takes the place of; one that cannot be read is to be mended."""
    try:
        record = vault.axis_record(address)
        return record, []
    except Unreadable as error:
        return None, [f"the record before could not be read: {error}"]


def set_site(vault: Vault, path: Path, by: str) -> RecordAdded:
    """Put vault.yaml into the vault, which keeps its format; its channels are confirmed by that.

    Raises Unreadable with file, line and key.
    """
    content = file_content(path)
    site = read_site(content, str(path))
    content = with_format(content, format_of(vault.read(layout.VAULT) or b""))
    added = _put(vault, layout.VAULT, content, "Site and its policies", by)
    if site.alerts:
        with Outbox(vault.state) as outbox:
            for channel in site.alerts:
                outbox.confirm(channel, by, channel.folder)
    return added


def set_signers(vault: Vault, path: Path, by: str) -> RecordAdded:
    """Put the allowed signers into the vault, in OpenSSH's form: principals, type, key.

    Raises Unreadable with file and line.
    """
    content = file_content(path)
    lines = content.decode("utf-8", "replace").splitlines()
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if text and not text.startswith("#") and not _SIGNER.match(text):
            raise Unreadable(
                "this is no allowed signer", file=str(path), line=number,
                hint="like: name@site.example ssh-ed25519 AAAA…",
            )  # fmt: skip
    return _put(vault, layout.SIGNERS, content, "Allowed signers", by)


@dataclass(frozen=True, slots=True)
class AxisSummary:
    """What is known about an axis: its record as people wrote it, and its latest snapshot.

    `names` are all that it is and was called, the present one first; `retired` is the entry that
    took it out of use.
    """

    address: Address
    text: str
    record: AxisRecord | None
    snapshots: int
    latest: Snapshot | None
    names: tuple[str, ...]
    retired: Correction | None

    @property
    def title(self) -> str:
        """Title of the axis."""
        return self.record.title if self.record else ""

    @property
    def remarks(self) -> list[str]:
        """What the record says that cannot be, in words."""
        return unknown_in(self.record) if self.record else []


def unknown_in(record: AxisRecord) -> list[str]:
    """What a record says that cannot be, and that it is read without."""
    return [
        f"axis.yaml, line {one.line}: {one.text} is taken as unknown: {one.reason}"
        for one in record.unknown
    ]


def axis_summaries(vault: Vault, failed: Failed) -> list[AxisSummary]:
    """Every axis at a glance, retired ones last; `failed` gets what is wrong with one."""
    found = []
    for address in vault.axes():
        with told_apart(failed, str(address)):
            found.append(axis_summary(vault, address))
    return sorted(found, key=lambda one: (one.retired is not None, str(one.address)))


def axis_summary(vault: Vault, address: Address) -> AxisSummary:
    """Everything about an axis at a glance. Raises WrongUsage if there is none."""
    address = vault.require_axis(address)
    content = vault.read(layout.axis_file(address))
    return AxisSummary(
        address,
        "" if content is None else content.decode("utf-8-sig"),
        None if content is None else kept_axis(content, layout.axis_file(address)),
        vault.index.count(address),
        vault.latest(address),
        tuple(vault.names.names(address)),
        vault.names.retired(address),
    )


def file_content(path: Path) -> bytes:
    """Bytes of a file that a person wrote. Raises Unreadable."""
    try:
        if path.stat().st_size > _MAX_BYTES:
            raise Unreadable("the file is too large", file=str(path), line=1)
        return path.read_bytes()
    except OSError as error:
        raise Unreadable(f"the file cannot be read: {error.strerror}", file=str(path)) from error


def _put(
    vault: Vault, place: str, content: bytes, message: str, by: str, vault_format: int = 1
) -> RecordAdded:
    with vault.writing():
        return put(vault, place, content, message, by, vault_format)


def put(
    vault: Vault, place: str, content: bytes, message: str, by: str, vault_format: int = 1
) -> RecordAdded:
    """Put a file in that only programs of a format read. Call within `writing`."""
    if vault.read(place) == content:
        return RecordAdded(place, True, vault.tip)
    vault.raise_format(by, vault_format)
    return RecordAdded(place, False, vault.write_files({place: content}, f"{message}\n", by))
