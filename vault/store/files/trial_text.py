"""trial.yaml: reading what people write, and writing what is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from vault.model.errors import Damaged, Unreadable, VaultError, WrongUsage
from vault.model.export import SkippedLine
from vault.model.names import commit_id
from vault.model.trial import TrialRecord
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text
from vault.store.files.edited_files import read_trial_record, refusal
from vault.store.files.moment_names import name_of_moment

TRIALS_FORMAT = 2
"""Number of the vault's format that has such files first."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial that is kept: its name in the tree, and what holds of it.

    `by` tried it at `taken_at`; `snapshot` is the commit of the set that was in force then.
    """

    name: str
    record: TrialRecord
    taken_at: datetime
    by: str
    added_at: datetime
    snapshot: str

    @property
    def vault_at(self) -> str:
        """The vault's state when it was added."""
        return self.record.vault_at or self.snapshot


def read_trial(content: bytes, file: str) -> tuple[TrialRecord, datetime | None]:
    """Read what people wrote: the record, and when it was tried, None where they do not say.

    Raises Unreadable with file, line and key.
    """
    record = read_trial_record(content, file)
    for key in ("added_at", "snapshot", "vault_at"):
        if getattr(record, key) is not None:
            reason = "is written by the program alone: take this line out"
            raise _at(content, file, key, reason)
    if record.taken_at is None:
        return record, None
    try:
        return record, parse_time(record.taken_at, begins=True, of_file=True)
    except WrongUsage as error:
        raise _at(content, file, "taken_at", error.message) from error


def _at(content: bytes, file: str, key: str, reason: str) -> Unreadable:
    line = yaml_text.line_of(content, (key,)) or 1
    return refusal((SkippedLine(line, key, reason),), file)


def trial_text(trial: Trial) -> bytes:
    """Write trial.yaml: equal trials give equal bytes."""
    said = trial.record.model_dump(by_alias=True, exclude_none=True)
    said["moves"] = [move for move in said["moves"] if "measured" in move]
    said["stops"] = [stop for stop in said["stops"] if "way" in stop]
    said |= {"taken_at": time_text(trial.taken_at), "by": trial.by}
    said |= {"added_at": time_text(trial.added_at), "snapshot": trial.snapshot}
    ordered = {key: said[key] for key in _KEYS if said.get(key) not in (None, {}, [], ())}
    return yaml_text.mapping_text(ordered)


_KEYS = tuple(field.alias or key for key, field in TrialRecord.model_fields.items())


def read_kept_trial(content: bytes, file: str) -> Trial:
    """Read a trial that lies in a vault. Raises Damaged where it is not as we wrote it."""
    from pydantic import ValidationError

    found: dict[str, Any] = yaml_text.read_mapping(content, file)
    name = file.rsplit("/", 2)[-2] if "/" in file else ""
    try:
        record = TrialRecord.model_validate(found)
        trial = Trial(
            name,
            record,
            parse_time(str(record.taken_at), of_file=True),
            str(found["by"]),
            parse_time(str(found["added_at"]), of_file=True),
            commit_id(found["snapshot"]),
        )
        commit_id(found["vault_at"])
    except ValidationError as error:
        refused = read_as_edited(content, file)
        raise Damaged(refused, file=file) from error
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this trial", error, file) from error
    if name and name != name_of_moment(trial.taken_at):
        reason = f"it lies under {name}, and was taken {trial.record.taken_at}"
        raise Damaged(reason, file=file)
    return trial


def read_as_edited(content: bytes, file: str) -> str:
    """What the schema has against a kept file, with its line."""
    try:
        read_trial_record(content, file)
    except Unreadable as error:
        return f"line {error.line}: {error.message}"
    return "it is not as it was written"
