"""The site, and a machine: how every axis stands, and what changed this week."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from typing import Any

from vault.jobs.baseline.axis_drift import AxisDrift, counted_axes
from vault.jobs.baseline.documents import DriftDocument, drift_document
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.ending_waivers import ending_waivers
from vault.jobs.faults.of_all_axes import AxisFault, faults_of_all
from vault.jobs.inspect.told_changes import NOTHING_CHANGED, told_changes
from vault.jobs.records.machines import tags_of_machines
from vault.jobs.restore.fitted_drift import with_fitted
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.state.compare_machines import likely_twins
from vault.meaning.consequences import CONSEQUENCES
from vault.model.errors import VaultError
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.model.written_form import marked
from vault.store.clock import microseconds, now
from vault.store.vault import Vault
from webui.axis_filter import STATES, AxisFilter, by_machine
from webui.errors import error_text
from webui.page import Page

_WEEK = timedelta(days=7)
_EVER = 2**62  # microseconds: a clock may run ahead
_MOST_URGENT = 5  # axes that are listed at the top; two screens are all there is
_MOST_MACHINES = 12  # that are seen before the rest is opened
_MOST_WAIVERS = 3  # that end soonest
_FEW_AXES = 60  # up to so many, machines are open
_MOST_ROWS = 2000  # of axes that go with the page; else only the machine's page has them
_MOST_NEWS = 12  # axes whose news of the week are told
_MOST_TOLD = 3  # snapshots of an axis whose changes are told
_MOST_COMPARED = 20  # snapshots of an axis that are looked at for that
_OPEN_NEWS = 2  # of which are seen before the rest is opened


def site(vault: Vault) -> Page:
    """Every machine, those that need somebody first, and the axes that need it most."""
    failures: dict[Address, VaultError] = {}
    every, asked = drift(vault, failed=failures.__setitem__), AxisFilter.asked()
    used, retired = _in_use(every)
    axes = asked.of(vault, used)
    machines = by_machine(axes, asked)
    urgent = [] if asked.is_active else asked.in_order(a for a in axes if a.needs_attention)
    week = _week(vault, axes, {axis.axis for axis in urgent[:_MOST_URGENT]})
    is_told = bool(urgent or week["week"] or week["more_week"])
    waivers = [one for one in ending_waivers(vault, failures=[]) if not one.has_ended]
    return Page(
        "site.html",
        vault.site,
        lambda: _document(vault, axes if asked.is_active else every, failures),
        {
            "asked": asked,
            "machines": machines[:_MOST_MACHINES],
            "more_machines": machines[_MOST_MACHINES:],
            "pictured": [(machine.name, machine.axes) for machine in machines],
            # An axis is said once: where some stand above, or below as news, machines are folded.
            "is_open": len(axes) <= _FEW_AXES and (asked.is_active or not is_told),
            "open_plans": open_plans(vault),
            "has_axes": bool(used),
            "has_rows": len(axes) <= _MOST_ROWS,
            "counts": _counts(axes, used),
            "urgent": urgent[:_MOST_URGENT],
            "more_urgent": urgent[_MOST_URGENT:],
            "retired": retired,
            "waivers": waivers[:_MOST_WAIVERS],
            "more_waivers": len(waivers[_MOST_WAIVERS:]),
            "failures": failures,
            **week,
            **_choices(vault),
        },
    )


def machine(vault: Vault, machine_name: str) -> Page:
    """One machine."""
    failures: dict[Address, VaultError] = {}
    every, asked = drift(vault, machine_name, failed=failures.__setitem__), AxisFilter.asked()
    folder = vault.names.machine(machine_name)
    used, retired = _in_use(every)
    axes = asked.of(vault, used)
    return Page(
        "machine.html",
        machine_name,
        lambda: _document(vault, axes if asked.is_active else every, failures),
        {
            "asked": asked,
            "axes": asked.in_order(axes),
            "counts": _counts(axes, used),
            "retired": retired,
            "stand_side_by_side": sum(axis.taken_at is not None for axis in used) > 1,
            "names": vault.names.names_of_machine(folder),
            "out_of_use": vault.names.machine_retired(folder),
            "failures": failures,
            "others": likely_twins(vault, machine_name),
            **_week(vault, axes),
            **_choices(vault),
        },
        (("Site", f"/{asked.query}"),),
    )


def _document(
    vault: Vault, axes: list[AxisDrift], failures: Mapping[Address, VaultError]
) -> DriftDocument:
    return drift_document(with_fitted(vault, axes), failures)


def _choices(vault: Vault) -> dict[str, Any]:
    """What may be asked for."""
    tags = {tag for each in tags_of_machines(vault).values() for tag in each}
    return {
        "states": STATES,
        "consequences": CONSEQUENCES,
        "families": vault.family_names(),
        "tags": sorted(tags),
    }


def _in_use(axes: list[AxisDrift]) -> tuple[list[AxisDrift], list[AxisDrift]]:
    """Axes that are in use, and those that are retired, by name."""
    retired = sorted((axis for axis in axes if axis.retired), key=lambda axis: axis.axis)
    return [axis for axis in axes if not axis.retired], retired


def _counts(axes: list[AxisDrift], used: list[AxisDrift]) -> tuple[str, str]:
    """How many are shown, and of how many."""
    has_sets = any(axis.is_controllers for axis in used)
    shown, of = ([axis.axis for axis in some] for some in (axes, used))
    return counted_axes(shown), counted_axes(of) if has_sets else marked(f"{len(of):,}")


def _week(vault: Vault, axes: list[AxisDrift], said: Collection[str] = ()) -> dict[str, Any]:
    """What this week changed, and its faults, by axis; how many more axes have news.

    Axes that are `said` on the page already come after the others, and are not seen at once.
    """
    since = now() - _WEEK
    faults: dict[str, list[AxisFault]] = {}
    for fault in faults_of_all(vault, since=since)[0]:
        faults.setdefault(str(fault.axis), []).append(fault)
    latest = {axis.axis: axis.taken_at for axis in axes}
    times = {
        name: max(taken or since, *(fault.entry.at for fault in faults.get(name, ())), since)
        for name, taken in latest.items()
    }
    fresh = sorted((n for n in times if times[n] > since), key=times.__getitem__, reverse=True)
    fresh.sort(key=lambda name: name in said)  # stable: the newest stay first
    news = [_told(vault, name, since, faults.get(name, [])) for name in fresh[:_MOST_NEWS]]
    is_open = [one["axis"] not in said for one in news[:_OPEN_NEWS]].count(True)
    return {
        "week": news[:is_open],
        "more_week": news[is_open:],
        "untold": len(fresh[_MOST_NEWS:]),
    }


def _told(vault: Vault, axis: str, since: datetime, faults: list[AxisFault]) -> dict[str, Any]:
    """The news of an axis, or why they cannot be told."""
    failed: list[VaultError] = []
    found: dict[str, Any] = {"axis": axis, "told": [], "exports": 0, "faults": faults}
    with told_apart(failed.append, axis):
        found |= _news(vault, vault.address(axis), since)
    for error in failed:
        sentence = f"What changed cannot be told: {error_text(error)}"
        found["told"] = [{"record": None, "sentences": [sentence]}]
    return found


def _news(vault: Vault, address: Address, since: datetime) -> dict[str, Any]:
    """How many exports the week has, and the newest of those that changed something.

    The latest one is told where none did.
    """
    exports = vault.index.taken_between(address, microseconds(since) + 1, _EVER)
    exports.sort(key=lambda one: one.record.taken_at)
    if not exports:
        return {}
    told: list[dict[str, Any]] = []
    before = [vault.index.latest_at(address, microseconds(since)), *exports[:-1]]
    pairs = list(zip(before, exports, strict=True))[::-1]
    if len(pairs) > _MOST_COMPARED:  # the older ones as one
        pairs[_MOST_COMPARED:] = [(before[0], pairs[_MOST_COMPARED][1])]
    for older, newer in pairs:
        changes = told_changes(vault, older, newer, 4).sentences
        if changes != NOTHING_CHANGED:
            told.append({"record": newer.record, "sentences": changes})
        if len(told) == _MOST_TOLD:
            break
    if not told:
        told = [{"record": exports[-1].record, "sentences": NOTHING_CHANGED}]
    return {"told": told, "exports": len(exports)}
