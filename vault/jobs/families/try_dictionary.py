"""What a dictionary makes of exports, before anything is stored."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.formats.registry import Writes, WritesBack
from vault.formats.workbook_safety import is_container
from vault.formats.zipped import Zipped
from vault.jobs.export.content import read_content
from vault.jobs.export.list_entries import list_entries
from vault.jobs.export.parameter_set import parameter_set
from vault.jobs.export.recognise import Recognised, looks_like, recognise
from vault.jobs.records.edit import read_dictionary
from vault.model.errors import VaultError, WrongUsage
from vault.model.export import Scalar, SkippedLine
from vault.model.internal_errors import told_apart
from vault.model.near_names import did_you_mean
from vault.model.normalise import normalise
from vault.model.parameters import canonical_code
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.model.export import Listing
    from vault.model.families import Family
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class WrittenBack:
    """Whether an export comes back byte for byte when its own values are put into it.

    `is_same` is None where the format does not put values into an export that there is; `reason`
    says why, or what went wrong.
    """

    is_same: bool | None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class TriedExport:
    """What a dictionary makes of one export.

    `error` is why it would be refused whole; where it could not be listed, all else is empty.
    `refused` are lines that cannot be taken, `unknown` codes that the dictionary does not have,
    `not_fitting` what under `recognise` does not fit, `other_families` those of the vault that it
    looks like too. `without_role` and `suggested` count parameters without a role, and those of
    them whose role waits for a person.
    """

    file: str
    error: VaultError | None = None
    encoding: str | None = None
    nameplate: tuple[tuple[str, str], ...] = ()
    channel: int | None = None
    read: int = 0
    refused: tuple[SkippedLine, ...] = ()
    unknown: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    is_recognised: bool = False
    not_fitting: tuple[str, ...] = ()
    other_families: tuple[str, ...] = ()
    written_back: WrittenBack | None = None
    without_role: int = 0
    suggested: int = 0

    @property
    def is_whole(self) -> bool:
        """Whether everything in it was read."""
        return self.error is None and not self.refused


@dataclass(frozen=True, slots=True)
class Tried:
    """A dictionary and what it makes of exports; `failures` are other dictionaries in disorder."""

    dictionary: FamilyFile
    exports: tuple[TriedExport, ...]
    failures: tuple[VaultError, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether everything was read."""
        return all(one.is_whole for one in self.exports)


def try_dictionary(
    dictionary: str, exports: Iterable[Path], vault: Vault | None, channel: int | None = None
) -> Tried:
    """Read exports by a dictionary: a file on disk, else the one of that name in the vault.

    What is wrong with an export is told, and goes no further. Raises Unreadable with file, line and
    key for a dictionary that a vault would not take, WrongUsage where there is none.
    """
    file = _dictionary(dictionary, vault)
    failures: list[VaultError] = []
    others: list[FamilyFile] = []
    for name in vault.family_names() if vault is not None else ():
        with told_apart(failures.append, f"dictionary {name}"):
            if vault is not None and name != file.name:
                other = vault.family_file(name)
                _ = other.family
                others.append(other)
    tried = tuple(_tried(path, file, others, channel, failures) for path in exports)
    told = {str(failure): failure for failure in failures}
    return Tried(file, tried, tuple(told.values()))


def _dictionary(name: str, vault: Vault | None) -> FamilyFile:
    path = Path(name)
    if path.is_file():
        return read_dictionary(path)
    known = vault.family_names() if vault is not None else []
    if vault is not None and name in known:
        return vault.family_file(name)
    reason = f"there is no file {name!r}"
    if vault is not None:
        reason += f", and the vault has no family of that name{did_you_mean(name, known)}"
    raise WrongUsage(reason, hint="name a dictionary: a YAML file, or a family of the vault")


def _tried(
    path: Path,
    dictionary: FamilyFile,
    others: Iterable[FamilyFile],
    channel: int | None,
    failures: list[VaultError],
) -> TriedExport:
    file = str(path)
    try:
        content = read_content(path)
        recognised = recognise(content, file, dictionary, channel=channel)
        listing = list_entries(recognised, channel)
    except VaultError as error:
        return TriedExport(file, error)
    family = dictionary.family
    normalised = normalise(listing, family)
    known = family.definitions(listing.nameplate.get("firmware"))
    without = [one.code for one in normalised.parameters.values() if one.role is None]
    form = recognised.format
    inside = form.inside(content, file) if isinstance(form, Zipped) else content
    return TriedExport(
        file,
        _objection(recognised, listing),
        encoding=None if is_container(inside) else listing.encoding,
        nameplate=tuple(listing.nameplate.items()),
        channel=listing.channel,
        read=len(normalised.parameters),
        refused=normalised.skipped,
        unknown=tuple(
            entry.code
            for entry in listing.entries
            if canonical_code(entry.code) not in known and entry.code in normalised.parameters
        ),
        warnings=(
            *normalised.warnings,
            *(f"line {line.line}: {line.reason}" for line in listing.remarks),
        ),
        is_recognised=looks_like(inside, file, family.export, listing.channel),
        not_fitting=tuple(_not_fitting(inside, file, family, listing.channel)),
        other_families=tuple(_alike(inside, file, others, channel, failures)),
        written_back=_written_back(recognised, listing),
        without_role=len(without),
        suggested=sum(
            code in known and known[code].suggest is not None
            for code in map(canonical_code, without)
        ),
    )


def _alike(
    content: bytes,
    file: str,
    others: Iterable[FamilyFile],
    channel: int | None,
    failures: list[VaultError],
) -> Iterator[str]:
    """Names of other families that an export looks like; what cannot be asked is told."""
    for other in others:
        looks = False
        with told_apart(failures.append, f"dictionary {other.name}"):
            looks = looks_like(content, file, other.family.export, channel)
        if looks:
            yield other.name


def _objection(recognised: Recognised, listing: Listing) -> VaultError | None:
    """Why the export is refused even without the lines that cannot be taken."""
    try:
        parameter_set(recognised, listing, partial=True)
    except VaultError as error:
        return error
    return None


def _not_fitting(content: bytes, file: str, family: Family, channel: int | None) -> Iterable[str]:
    """What the dictionary recognises its exports by, and this one has not."""
    dialect = family.export
    for place, pattern in dialect.recognise.items():
        alone = dialect.model_copy(update={"recognise": {place: pattern}})
        if not looks_like(content, file, alone, channel):
            yield place


def _written_back(recognised: Recognised, listing: Listing) -> WrittenBack:
    form, family = recognised.format, recognised.family
    if not isinstance(form, WritesBack) or family is None:
        reason = f"the format {listing.format} does not put values into an export that there is"
        if isinstance(form, Writes):
            reason += ", it writes a new one"
        return WrittenBack(None, reason)
    values: dict[str, Scalar] = {entry.code: entry.written for entry in listing.entries}
    try:
        written = form.write_back(
            recognised.content,
            values,
            file=recognised.file,
            dialect=family.family.export,
            channel=listing.channel,
        )
    except VaultError as error:
        return WrittenBack(False, error.message)
    if written == recognised.content:
        return WrittenBack(True)
    return WrittenBack(False, "the same values give another file")
