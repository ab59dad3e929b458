"""Adding a trial: checked, kept under its axis, held against the set that was in force."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.state.moments import not_in_future
from vault.jobs.state.selectors import State, view_of
from vault.jobs.trials.kept import TrialResult, result_of, trial_names
from vault.meaning.trials.misfits import misfits
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.model.export import SkippedLine
from vault.model.written_form import minute_text
from vault.store.clock import microseconds, now, parse_time
from vault.store.files import layout, yaml_text
from vault.store.files.edited_files import refusal
from vault.store.files.moment_names import name_of_moment
from vault.store.files.schema_problems import key_of
from vault.store.files.trial_text import (
    TRIALS_FORMAT,
    Trial,
    read_trial,
    trial_text,
)

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.model.trial import TrialRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


def add_trial_file(
    vault: Vault, address: Address, path: Path, by: str, taken_at: str | None = None
) -> TrialResult:
    """Take a trial in from a file that people wrote; raises what `add_trial` does."""
    return add_trial(vault, address, read_content(path), str(path), by, taken_at)


def add_trial(
    vault: Vault,
    address: Address,
    content: bytes,
    file: str,
    by: str,
    taken_at: str | None = None,
) -> TrialResult:
    """Keep a trial, and say what it came to.

    Who tried it and when is what the file says, else `by` and now; `taken_at` goes before the file.
    Raises Unreadable with file, line and key, WrongUsage where no set was in force then, Refused
    for the future and for a time that has a trial.
    """
    record, said_at = read_trial(content, file)
    if record.is_blank:
        raise Unreadable(
            "nothing of it is answered", file=file, line=1, hint="fill it in at the axis"
        )
    moment = said_at or now()
    if taken_at is not None:
        moment = now() if taken_at == "now" else parse_time(taken_at, begins=True)
    moment = not_in_future(moment.replace(microsecond=0), file)
    with vault.writing():
        address = vault.require_whole_axis(address)
        name = name_of_moment(moment)
        if name in trial_names(vault, address):
            raise Refused(
                f"{address} has a trial of {minute_text(moment)} already",
                hint="another one has another time: --taken-at TIME",
            )
        vault.raise_format(by, TRIALS_FORMAT)
        snapshot = snapshot_at(vault, address, moment)
        state = State(str(address), vault, address, snapshot, built_at=vault.tip)
        _check_kinds(record, state, content, file)
        kept = record.model_copy(update={"vault_at": vault.tip})
        trial = Trial(name, kept, moment, record.by or by, now(), snapshot.id)
        result = result_of(vault, address, trial)
        vault.write_files(
            {layout.trial_file(address, name): trial_text(trial)},
            f"{address}: trial of {moment:%Y-%m-%d %H:%M}\n\n{result.verdict.summary}\n\n"
            f"Trial: {name}\nSnapshot: {snapshot.id}\n",
            by,
        )
    return result


def snapshot_at(vault: Vault, address: Address, moment: datetime) -> Snapshot:
    """The snapshot that was in force at a moment. Raises WrongUsage where there was none."""
    found = vault.index.latest_at(address, microseconds(moment))
    if found is None:
        raise WrongUsage(
            f"{address} has no snapshot of {minute_text(moment)} or before",
            hint="a trial belongs to a parameter set: take its export in first",
        )
    return found


def _check_kinds(record: TrialRecord, state: State, content: bytes, file: str) -> None:
    """Raise Unreadable for quantities that the axis does not have."""
    problems = tuple(
        SkippedLine(yaml_text.line_of(content, path) or 1, key_of(path), reason)
        for path, reason in misfits(record, view_of(state))
    )
    if problems:
        raise refusal(problems, file)
