"""Trials that an axis has, and what each of them came to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import State, by_id, view_of
from vault.meaning.reader import system
from vault.meaning.trials.evaluate import evaluate
from vault.model.errors import VaultError, WrongUsage
from vault.model.remembered import Remembered
from vault.model.written_form import form
from vault.store.files import layout
from vault.store.files.moment_names import is_moment_name
from vault.store.files.trial_text import Trial, read_kept_trial, trial_text

if TYPE_CHECKING:
    from vault.meaning.trials.verdict import TrialVerdict
    from vault.model.names import Address
    from vault.store.vault import Vault

_KNOWN = Remembered[tuple[object, ...], "TrialVerdict"](1024)


@dataclass(frozen=True, slots=True)
class TrialResult:
    """A trial with what it came to, on the state that it belongs to."""

    address: Address
    trial: Trial
    state: State
    verdict: TrialVerdict

    @property
    def place(self) -> str:
        """What people call it: `machine/axis`, and when it was tried."""
        return f"{self.address} {self.trial.name}"


def trial_names(vault: Vault, address: Address, commit: str | None = None) -> list[str]:
    """Names of the trials of an axis, oldest first."""
    entries = vault.repository.list(commit or vault.tip, layout.trials_folder(address))
    names = (entry.path.rsplit("/", 1)[1] for entry in entries)
    return sorted(name for name in names if is_moment_name(name))


def trial_named(vault: Vault, address: Address, name: str, commit: str | None = None) -> Trial:
    """The trial of a name, or the latest for `latest`. Raises WrongUsage where there is none."""
    names = trial_names(vault, address, commit)
    wanted = names[-1] if name == "latest" and names else name
    if wanted not in names:
        has = ", ".join(names[-3:]) or "none yet"
        raise WrongUsage(f"{address} has no trial {name!r}", hint=f"it has: {has}")
    return _named(vault, address, wanted, commit)


def _named(vault: Vault, address: Address, name: str, commit: str | None) -> Trial:
    path = layout.trial_file(address, name)
    return _read(vault.read_required(path, commit or vault.tip), path)


@lru_cache(maxsize=256)
def _read(content: bytes, path: str) -> Trial:
    return read_kept_trial(content, path)


def trials_of(
    vault: Vault,
    address: Address,
    problems: list[str] | None = None,
    commit: str | None = None,
) -> Iterator[Trial]:
    """The trials of an axis, oldest first; those that cannot be read are `problems`, or raised."""
    for name in trial_names(vault, address, commit):
        try:
            yield _named(vault, address, name, commit)
        except VaultError as error:
            if problems is None:
                raise
            problems.append(str(error))


def result_of(vault: Vault, address: Address, trial: Trial) -> TrialResult:
    """A trial held against the set that was in force, on the axis as it was recorded then.

    Raises WrongUsage where that snapshot is not there.
    """
    snapshot = by_id(vault, address, trial.snapshot)
    state = State(
        f"{address}@{snapshot.id[:10]}", vault, address, snapshot, built_at=trial.record.vault_at
    )
    key = (str(address), trial.name, trial_text(trial), system(), form())
    verdict = _KNOWN.of(key, lambda: evaluate(trial.record, view_of(state)))
    return TrialResult(address, trial, state, verdict)


def results_of(
    vault: Vault, address: Address, problems: list[str] | None = None
) -> Iterator[TrialResult]:
    """Every trial of an axis with what it came to, newest first."""
    for trial in reversed(list(trials_of(vault, address, problems))):
        try:
            yield result_of(vault, address, trial)
        except VaultError as error:
            if problems is None:
                raise
            problems.append(str(error))


def latest_result(vault: Vault, address: Address) -> TrialResult | None:
    """The latest trial of an axis that can be read; None where there is none."""
    return next(results_of(vault, address, []), None)
