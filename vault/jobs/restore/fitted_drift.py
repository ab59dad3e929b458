"""Which drift comes of hardware that was replaced, and waits for the as-left state's approval.

The restore knows why a value may differ from the one that was kept; drift knows only the baseline
of before, and holds it against that until somebody approves what was left.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from vault.jobs.restore.check import checked_before
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import by_id
from vault.model.errors import VaultError

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


def with_fitted(vault: Vault, address: Address, drift: AxisDrift) -> AxisDrift:
    """The drift of an axis, with why its restore lets some of what drifted differ.

    What cannot be read says nothing here: the page of the plan, and `verify`, tell it.
    """
    if not drift.changes:
        return drift
    with suppress(VaultError):
        return replace(drift, fitted=tuple(_fitted(vault, address, drift).items()))
    return drift


def _fitted(vault: Vault, address: Address, drift: AxisDrift) -> dict[str, str]:
    """Reasons by code, of values that are as they were left."""
    left = _left_after(vault, address, drift)
    if left is None:
        return {}
    may_differ = {
        each.change.right.code: (each.change.right.raw, each.reason)
        for each in checked_before(vault, address, left).left_over.ignored
        if each.change.right is not None
    }
    found = {}
    for deviation in drift.changes:
        now_there = deviation.change.right
        if now_there is not None and now_there.code in may_differ:
            raw, reason = may_differ[now_there.code]
            if raw == now_there.raw:
                found[deviation.change.shown.code] = reason
    return found


def _left_after(vault: Vault, address: Address, drift: AxisDrift) -> Snapshot | None:
    """What the last plan left, as signed, else as checked last; None once a baseline is newer."""
    plan, latest = planned(vault, address), vault.latest(address)
    if plan is None or latest is None or drift.golden is None or drift.follows is not None:
        return None
    if by_id(vault, address, drift.golden).record.taken_at >= plan.made_at:
        return None
    if plan.signed_off is not None:
        return by_id(vault, address, plan.signed_off.snapshot)
    return latest if latest.record.restores == plan.id else None
