"""Whether a site's policy wants a trial, and whether a state has the one that it needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, by_id
from vault.jobs.trials.kept import result_of, trials_of
from vault.model.errors import Refused, VaultError
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.trials.kept import TrialResult
    from vault.store.vault import Vault


def trial_objection(vault: Vault, state: State, commit: str | None = None) -> Refused | None:
    """Why a state is not proven by a trial, where the policy wants one; else None.

    The latest trial on this snapshot, or on one with equal values, must be whole and have passed.
    `commit` is where trials are looked for, if not at the branch's state.
    """
    if state.address is None or state.address.is_controller:  # a trial is the drive's, and moves
        return None
    if not vault.site_record.approval.trial:
        return None
    hint = f"axisvault trial template {state.address}, or say why it is right without: --even-so"
    latest = latest_on(vault, state, commit)
    if latest is None:
        return Refused(f"{state.name} has no trial, and the site wants one", hint=hint)
    if latest.verdict.has_passed:
        return None
    tried = minute_text(latest.trial.taken_at)
    said = f"the trial of {tried} does not prove {state.name}: {latest.verdict.summary}"
    return Refused(said, hint=hint)


def latest_on(vault: Vault, state: State, commit: str | None = None) -> TrialResult | None:
    """The latest trial on a snapshot, or on one of the axis that has equal values.

    What cannot be read proves nothing.
    """
    address, snapshot = state.address, state.snapshot
    if address is None or snapshot is None:
        return None
    alike = {snapshot.id: True}
    for trial in reversed(list(trials_of(vault, address, [], commit))):
        try:
            if trial.snapshot not in alike:
                other = by_id(vault, address, trial.snapshot)
                alike[trial.snapshot] = are_equal(state, State(state.name, vault, address, other))
            if alike[trial.snapshot]:
                return result_of(vault, address, trial)
        except VaultError:
            continue
    return None


def are_equal(one: State, other: State) -> bool:
    """Whether two snapshots of an axis have the same settings; live values do not count."""
    return compare_states(other, one).comparison.is_unchanged
