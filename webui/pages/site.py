"""The site, and a machine: how every axis stands, and what changed this week."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Any

from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.documents import drift_document
from vault.jobs.baseline.drift import drift
from vault.jobs.inspect.told_changes import told_changes
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.state.machines import likely_twins
from vault.meaning.consequences import CONSEQUENCES
from vault.model.errors import VaultError
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault
from webui.axis_filter import STATES, AxisFilter, by_machine
from webui.errors import error_text
from webui.page import Page

_WEEK = timedelta(days=7)
_MOST_URGENT = 5  # axes that are listed at the top; two screens are all there is
_MOST_MACHINES = 12  # that are seen before the rest is opened
_FEW_AXES = 60  # up to so many, machines are open
_MOST_ROWS = 2000  # of axes that go with the page; else only the machine's page has them
_MOST_NEWS = 12  # axes whose news of the week are told
_OPEN_NEWS = 2  # of which are seen before the rest is opened


def site(vault: Vault) -> Page:
    """Every machine, those that need somebody first, and the axes that need it most."""
    failures: dict[Address, VaultError] = {}
    every, asked = drift(vault, failed=failures.__setitem__), AxisFilter.asked()
    used, retired = _in_use(every)
    axes = asked.of(vault, used)
    machines = by_machine(axes, asked)
    urgent = [] if asked.is_active else asked.in_order(a for a in axes if a.needs_attention)
    return Page(
        "site.html",
        vault.site,
        lambda: drift_document(axes if asked.is_active else every, failures),
        {
            "asked": asked,
            "machines": machines[:_MOST_MACHINES],
            "more_machines": machines[_MOST_MACHINES:],
            "pictured": [(machine.name, machine.axes) for machine in machines],
            "is_small": len(axes) <= _FEW_AXES,
            "open_plans": open_plans(vault),
            "has_rows": len(axes) <= _MOST_ROWS,
            "counts": (len(axes), len(used)),
            "urgent": urgent[:_MOST_URGENT],
            "more_urgent": len(urgent[_MOST_URGENT:]),
            "retired": retired,
            "failures": failures,
            **_week(vault, axes),
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
        lambda: drift_document(axes if asked.is_active else every, failures),
        {
            "asked": asked,
            "axes": asked.in_order(axes),
            "counts": (len(axes), len(used)),
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


def _choices(vault: Vault) -> dict[str, Any]:
    """What may be asked for."""
    return {"states": STATES, "consequences": CONSEQUENCES, "families": vault.family_names()}


def _in_use(axes: list[AxisDrift]) -> tuple[list[AxisDrift], list[AxisDrift]]:
    """Axes that are in use, and those that are retired, by name."""
    retired = sorted((axis for axis in axes if axis.retired), key=lambda axis: axis.axis)
    return [axis for axis in axes if not axis.retired], retired


def _week(vault: Vault, axes: list[AxisDrift]) -> dict[str, Any]:
    """What the newest snapshots of this week changed, in sentences; how many more axes have one."""
    since = now() - _WEEK
    fresh = [axis for axis in axes if axis.taken_at is not None and axis.taken_at > since]
    fresh.sort(key=lambda axis: axis.taken_at or since, reverse=True)
    news = [entry for axis in fresh[:_MOST_NEWS] for entry in _told(vault, axis)]
    return {
        "week": news[:_OPEN_NEWS],
        "more_week": news[_OPEN_NEWS:],
        "untold": len(fresh[_MOST_NEWS:]),
    }


def _told(vault: Vault, axis: AxisDrift) -> Iterator[dict[str, Any]]:
    """The news of an axis, or why they cannot be told."""
    news: list[dict[str, Any]] = []
    failed: list[VaultError] = []
    with told_apart(failed.append, axis.axis):
        news += _news(vault, vault.address(axis.axis))
    yield from news
    for error in failed:
        sentence = f"What changed cannot be told: {error_text(error)}"
        yield {"axis": axis.axis, "record": None, "sentences": [sentence]}


def _news(vault: Vault, address: Address) -> Iterator[dict[str, Any]]:
    latest, before = vault.index.nth_latest(address, 0), vault.index.nth_latest(address, 1)
    if latest is None:
        return
    changes: Sequence[str] = ["The first snapshot of this axis."]
    if before is not None:
        changes = told_changes(vault, before, latest, 4).sentences
    yield {"axis": str(address), "record": latest.record, "sentences": changes}
