"""What an axis is restored to: what the plan said, else the golden baseline, else the latest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.restore.verdict import hold_against
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, approved_state, by_id, golden_state, resolve
from vault.model.errors import WrongUsage
from vault.model.wording import plural
from vault.store.clock import microseconds
from vault.store.files import layout
from vault.store.files.golden_text import read_golden
from vault.store.files.restore_text import read_restore

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.model.restore import RestoreRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


def planned(vault: Vault, address: Address, commit: str | None = None) -> RestoreRecord | None:
    """The last plan that was made for an axis, now or as of a commit, if any."""
    path = layout.restore_file(address)
    content = vault.read(path, commit)
    return None if content is None else read_restore(content, path)


def planned_target(vault: Vault, address: Address, plan: RestoreRecord) -> State:
    """The state that a plan restores."""
    snapshot = by_id(vault, address, plan.snapshot)
    latest = vault.latest(address)
    is_latest = latest is not None and latest.id == snapshot.id
    return State(f"{address}@{snapshot.id[:10]}", vault, address, snapshot, is_latest)


def default_target(vault: Vault, address: Address) -> tuple[State, str, list[str]]:
    """The golden baseline of an axis, else its latest snapshot; which, and what to say of that."""
    latest = resolve(vault, f"{address}@latest")
    if vault.golden(address).approval is None and (tried := _tried(vault, address, latest)):
        warning = "the latest snapshot is that of a restore that is not done: its target stays"
        return tried, "planned", [warning]
    followed = vault.follows(address)
    if followed is not None:
        warning = (
            f"the golden baseline is that of {followed}, another machine: the latest snapshot "
        )
        return latest, "latest", [f"{warning}of this axis is the target"]
    if vault.golden(address).approval is None:
        warning = (
            "no golden baseline: the latest snapshot is the target, whether it was good or not"
        )
        return latest, "latest", [warning]
    golden = golden_state(vault, address)
    compared = compare_states(golden, latest).comparison.news
    warnings = []
    if compared:
        warnings.append(
            f"the latest snapshot differs from the golden baseline in "
            f"{plural(len(compared), 'parameter')}, which this plan undoes: "
            f"axisvault compare {address}@golden {address}"
        )
    return golden, "golden", warnings


def target_before(vault: Vault, address: Address, snapshot: Snapshot) -> State:
    """What a snapshot was to be like without a plan: the golden baseline of then, else the one
    before it. Raises WrongUsage where there is neither.
    """
    path = layout.golden_file(address)
    content = vault.read(path, snapshot.id)
    approval = read_golden(content, path).approval if content is not None else None
    if approval is not None:
        return approved_state(vault, f"{address}@golden", address, approval)
    before = vault.index.latest_at(address, microseconds(snapshot.record.taken_at) - 1)
    if before is None:
        raise WrongUsage(f"there is nothing that {address}@{snapshot.id[:10]} was to be like")
    return State(f"{address}@{before.id[:10]}", vault, address, before)


def _tried(vault: Vault, address: Address, latest: State) -> State | None:
    """The target of the last plan, where the latest snapshot was taken to check it and fails."""
    plan, record = planned(vault, address), latest.record
    if plan is None or record is None or record.restores != plan.id:
        return None
    target = planned_target(vault, address, plan)
    left = hold_against(target, latest, plan.adapted)
    return target if left.differences else None
