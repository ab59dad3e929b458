"""Against what a fault is held: the last state that is known to have been good."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, golden_state, view_of
from vault.meaning.drift import deviations
from vault.store.files import layout
from vault.store.git.history import commits_changing, is_ancestor

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_FOUND_WITHIN = timedelta(days=7)
"""An as-found export of so soon after a fault shows the state at the fault."""


@dataclass(frozen=True, slots=True)
class ReferenceState:
    """The state that is held against the fault; `is_good` where it is known to have been good."""

    state: State
    is_good: bool
    why: str


def state_at(vault: Vault, address: Address, moment: datetime) -> State | None:
    """The state that an axis was in at a moment, as far as exports tell; None before the first."""
    before: Snapshot | None = None
    for snapshot in vault.index.snapshots(address):
        record = snapshot.record
        if record.taken_at > moment:
            soon = record.taken_at - moment <= _FOUND_WITHIN
            if record.occasion == "as-found" and soon:
                return _state(vault, address, snapshot)
            break
        before = snapshot
    return None if before is None else _state(vault, address, before)


def reference_state(vault: Vault, address: Address, moment: datetime) -> ReferenceState | None:
    """The latest snapshot before a moment that was in line with golden, else golden itself.

    Without a golden baseline it is the last commissioning before it, else the first snapshot:
    nothing says that those were good.
    """
    before = [s for s in vault.index.newest_first(address) if s.record.taken_at <= moment]
    source = vault.follows(address)
    own = vault.golden(source or address)
    if own.approval is not None:
        golden = golden_state(vault, address)
        for snapshot in before:
            state = _state(vault, address, snapshot)
            compared = compare_states(golden, state).comparison
            views = view_of(golden), view_of(state)
            found = deviations(
                compared, *views, vault.golden(address).waivers, of_twin=source is not None
            )
            if not any(one.drifts(snapshot.record.taken_at) for one in found.settings):
                return ReferenceState(
                    state, True, "the last snapshot in line with the golden baseline"
                )
        return ReferenceState(
            golden, True, "the golden baseline itself: nothing before was in line"
        )
    if not before:
        return None
    commissioned = next((s for s in before if s.record.occasion == "commissioning"), None)
    if commissioned is not None:
        why = "there is no golden baseline: held against the commissioning"
        return ReferenceState(_state(vault, address, commissioned), False, why)
    why = "there is no golden baseline: held against the first snapshot"
    return ReferenceState(_state(vault, address, before[-1]), False, why)


def as_built(vault: Vault, good: State, state: State, moment: datetime) -> tuple[State, State]:
    """Both states with the machine as it was recorded in their time.

    At the fault that is the last record before it, or before its snapshot was recorded. What is
    held against has that one too, where it had none yet or a later one.
    """
    address = state.address
    if address is None or state.snapshot is None or good.address != address:
        return good, state
    path = layout.axis_file(address)
    found = state.snapshot.record.taken_at
    until = max(moment, found)
    commit = state.snapshot.id
    for logged in commits_changing(vault.repository, vault.tip, path):
        is_later = not is_ancestor(vault.repository, logged.commit, state.snapshot.id)
        if logged.at <= until and is_later:
            commit = logged.commit
    first = good.built_at or (good.snapshot.id if good.snapshot is not None else commit)
    if vault.read(path, first) is None or is_ancestor(vault.repository, commit, first):
        first = commit
    return (
        replace(good, is_latest=False, built_at=first),
        replace(state, is_latest=False, built_at=commit),
    )


def _state(vault: Vault, address: Address, snapshot: Snapshot) -> State:
    latest = vault.latest(address)
    is_latest = latest is not None and latest.id == snapshot.id
    return State(f"{address}@{snapshot.id[:10]}", vault, address, snapshot, is_latest)
