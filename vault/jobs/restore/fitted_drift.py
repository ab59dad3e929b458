"""Which drift comes of hardware that was replaced, and waits for the as-left state's approval.

The restore knows why a value may differ from the one that was kept; drift knows only the baseline
of before, and holds it against that until somebody approves what was left. Whoever shows drift to
people or programs asks here for what of it waits, once it is known which axes are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from vault.jobs.baseline.drift import drift_of
from vault.jobs.restore.target import planned, planned_target
from vault.jobs.restore.verdict import hold_against
from vault.jobs.state.selectors import State, by_id
from vault.meaning.reader import system
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.model.remembered import Remembered
from vault.store.files import layout

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.model.restore import RestoreRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_Reasons = Mapping[str, tuple[object, str]]
"""By code the raw value that was left, and why it may differ."""
_KNOWN = Remembered[tuple[str, str], _Reasons](1024)


def with_fitted(vault: Vault, axes: Iterable[AxisDrift]) -> list[AxisDrift]:
    """The drift of axes, each with why its restore lets some of what drifted differ.

    What cannot be read says nothing here: the page of the plan, and `verify`, tell it. Only drives
    are restored, and only what drifted is looked into.
    """
    return [
        _explained(vault, axis) if axis.changes and not axis.is_controllers else axis
        for axis in axes
    ]


def fitted_drift_of(vault: Vault, address: Address) -> AxisDrift:
    """The drift of one set of an axis, with the same."""
    return with_fitted(vault, [drift_of(vault, address)])[0]


def _explained(vault: Vault, drift: AxisDrift) -> AxisDrift:
    if drift.golden is None or drift.follows is not None:
        return drift
    address = vault.names.named(Address.parse(drift.place))
    with suppress(VaultError):
        reasons = _reasons(vault, address, drift.golden)
        fitted = []
        for deviation in drift.changes:
            now_there = deviation.change.right
            raw, reason = reasons.get(now_there.code if now_there else "", (None, ""))
            if now_there is not None and reason and raw == now_there.raw:
                fitted.append((deviation.change.shown.code, reason))
        return replace(drift, fitted=tuple(fitted))
    return drift


def _reasons(vault: Vault, address: Address, golden: str) -> _Reasons:
    """What a restore lets differ; remembered as long as nothing in the axis's folder changes."""
    folder = vault.repository.resolve(f"{vault.tip}:{layout.folder(address)}") or ""

    def work_out() -> _Reasons:
        plan = planned(vault, address)
        left = None if plan is None else _left_after(vault, address, plan, golden)
        if plan is None or left is None:
            return {}
        verdict = hold_against(planned_target(vault, address, plan), left, plan.adapted)
        return {
            each.change.right.code: (each.change.right.raw, each.reason)
            for each in verdict.ignored
            if each.change.right is not None
        }

    return _KNOWN.of((folder, system()), work_out)


def _left_after(vault: Vault, address: Address, plan: RestoreRecord, golden: str) -> State | None:
    """What a plan left, as signed, else as checked last; None once a baseline is newer."""
    latest = vault.latest(address)
    if latest is None or by_id(vault, address, golden).record.taken_at >= plan.made_at:
        return None
    left: Snapshot | None = latest if latest.record.restores == plan.id else None
    if plan.signed_off is not None:
        left = by_id(vault, address, plan.signed_off.snapshot)
    if left is None:
        return None
    return State(f"{address}@as-left", vault, address, left, left.id == latest.id)
