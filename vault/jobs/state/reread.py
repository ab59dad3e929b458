"""Reading kept exports by today's dictionary; what is recorded stays as it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import State
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.wording import plural
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.store.vault import FamilyFile


@dataclass(frozen=True, slots=True)
class Versions:
    """Versions of the dictionary of a snapshot, as SHA-256 in hex: `today` is None where the vault
    has it no more."""

    family: str
    recorded: str
    today: str | None

    @property
    def differ(self) -> bool:
        """Whether the dictionary changed since the snapshot was taken."""
        return self.today is not None and self.recorded != self.today

    @property
    def sentence(self) -> str:
        """What is said of a snapshot that is read by today's."""
        name = f"dictionary {self.family}"
        if not self.differ:
            return f"Read again by today's {name}, which is the one that it was taken with."
        return (
            f"Read by today's {name} ({(self.today or '')[:10]}), not by the one that it was taken "
            f"with ({self.recorded[:10]}). What is recorded stays as it is."
        )


@dataclass(frozen=True, slots=True)
class Rereading:
    """How two states were made to be read by one dictionary, or why they were not.

    `left` and `right` say which of them is read by today's, `failure` why neither is; `since` that
    the dictionary is newer than both.
    """

    family: str
    today: str | None
    left: bool = False
    right: bool = False
    failure: str | None = None
    since: bool = False

    @property
    def sentence(self) -> str:
        """In words."""
        when = "since the two were taken" if self.since else "between the two"
        between = f"The dictionary of {self.family} changed {when}"
        if self.failure is not None:
            return f"{between}; each is read by its own. {self.failure}"
        sides = "both sides are" if self.left and self.right else "the left side is"
        if self.right and not self.left:
            sides = "the right side is"
        return (
            f"{between}: {sides} read again by today's, so that only what the drive holds "
            "is compared. What is recorded stays as it is."
        )


def versions_of(state: State) -> Versions | None:
    """Versions of a snapshot's dictionary; None for a file, and what is read without one."""
    record = state.record
    if record is None or state.vault is None or not record.family or not record.family_sha256:
        return None
    today = _today(state)
    return Versions(record.family, record.family_sha256, digest(today.content) if today else None)


def older_text(state: State) -> str:
    """What is said where a dictionary has learnt since a snapshot was taken; else nothing."""
    versions = versions_of(state)
    if state.reread is not None or versions is None or not versions.differ:
        return ""
    return (
        f"The dictionary of {versions.family} has changed since this was taken; it is told by the "
        "older one. `show --reread` and `compare` read by today's; an export that is taken in anew "
        "counts by it everywhere."
    )


def reread_by_today(state: State) -> State:
    """A snapshot as today's dictionary reads its kept export.

    Raises WrongUsage where there is no such dictionary, Unreadable with every line where it refuses
    more of the export than was left out when it was taken in.
    """
    versions, today = versions_of(state), _today(state)
    if state.vault is None or state.record is None:
        raise WrongUsage(f"{state.name} is read by today's dictionary as it is")
    if versions is None:
        raise WrongUsage(f"{state.name} describes itself: it is read without a dictionary")
    if today is None:
        raise WrongUsage(f"the vault has no dictionary {versions.family} any more")
    return replace(state, reread=_read(state, today))


def by_one_dictionary(left: State, right: State) -> tuple[State, State, Rereading | None]:
    """Two states of a family, read by today's dictionary where either was by another version.

    Where it does not read one of them, both stay as recorded.
    """
    family = left.family_name
    versions = _version(left), _version(right)
    if family is None or family != right.family_name:
        return left, right, None
    is_one = versions[0] == versions[1]
    today = _today(left if left.vault is not None else right)
    if today is None:
        gone = Rereading(family, None, failure="The vault has it no more.")
        return left, right, None if is_one else gone
    sha = digest(today.content)
    if is_one and versions[0] == sha:
        return left, right, None
    old = [
        state.record is not None and version != sha
        for state, version in zip((left, right), versions, strict=True)
    ]
    sides = []
    for state, is_old in zip((left, right), old, strict=True):
        try:
            sides.append(replace(state, reread=_read(state, today)) if is_old else state)
        except VaultError as error:
            failure = f"{state.name}: {error.message}."
            return left, right, Rereading(family, sha, failure=failure, since=is_one)
    return sides[0], sides[1], Rereading(family, sha, left=old[0], right=old[1], since=is_one)


def _version(state: State) -> str | None:
    if state.export is not None:
        return digest(state.export.family.content) if state.export.family else None
    return state.record.family_sha256 if state.record is not None else None


def _today(state: State) -> FamilyFile | None:
    """The dictionary of a state's family as the vault has it now."""
    vault, family = state.vault, state.family_name
    if vault is None or family is None or family not in vault.family_names():
        return None
    return vault.family_file(family)


def _read(state: State, dictionary: FamilyFile) -> Export:
    from vault.jobs.export.read_export import read_export  # loads every format

    record = state.record
    assert record is not None
    export = read_export(
        state.export_content(),
        record.export_name,
        dictionary,
        channel=record.channel,
        node_id=record.node_id,
        pick=record.pick,
        partial=True,
    )
    if len(export.skipped) > len(state.coverage.left_out):
        first = export.skipped[0]
        lines = plural(len(export.skipped), "line")
        raise Unreadable(
            f"today's dictionary refuses {lines}, the first: {first.reason}",
            file=record.export_name,
            line=first.line,
            problems=export.skipped,
        )
    return export
