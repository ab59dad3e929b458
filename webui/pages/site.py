"""The site, and a machine: how every axis stands, and what changed this week."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any

from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.documents import drift_document
from vault.jobs.baseline.drift import drift
from vault.jobs.state.selectors import State, view_of
from vault.meaning.compare import compare
from vault.meaning.reader import system
from vault.meaning.sentences import sentences
from vault.model.errors import VaultError
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault
from webui.errors import error_text
from webui.page import Page

if TYPE_CHECKING:
    from vault.store.index.rows import Snapshot

_WEEK = timedelta(days=7)
_MOST = 12  # axes whose news of the week are told
_MOST_KEPT = 64
_SENTENCES: dict[tuple[object, ...], tuple[str, ...]] = {}


def site(vault: Vault) -> Page:
    """Every machine and axis, those that need somebody first."""
    failures: dict[Address, VaultError] = {}
    every = drift(vault, failed=failures.__setitem__)
    axes, retired = _in_use(every)
    return Page(
        "site.html",
        vault.site,
        lambda: drift_document(every, failures),
        {
            "machines": list(_by_machine(axes)),
            "urgent": [axis for axis in axes if axis.needs_attention],
            "retired": retired,
            "failures": failures,
            "week": list(_week(vault, axes)),
        },
    )


def machine(vault: Vault, machine_name: str) -> Page:
    """One machine."""
    failures: dict[Address, VaultError] = {}
    every = drift(vault, machine_name, failed=failures.__setitem__)
    folder = vault.names.machine(machine_name)
    axes, retired = _in_use(every)
    return Page(
        "machine.html",
        machine_name,
        lambda: drift_document(every, failures),
        {
            "axes": sorted(axes, key=lambda axis: axis.axis),
            "retired": retired,
            "names": vault.names.names_of_machine(folder),
            "out_of_use": vault.names.machine_retired(folder),
            "failures": failures,
            "week": list(_week(vault, axes)),
        },
        (("Site", "/"),),
    )


def _in_use(axes: list[AxisDrift]) -> tuple[list[AxisDrift], list[AxisDrift]]:
    """Axes that are in use, and those that are retired, by name."""
    retired = sorted((axis for axis in axes if axis.retired), key=lambda axis: axis.axis)
    return [axis for axis in axes if not axis.retired], retired


def _by_machine(axes: list[AxisDrift]) -> Iterator[tuple[str, list[AxisDrift]]]:
    ordered = sorted(axes, key=lambda axis: axis.axis)
    for name, members in groupby(ordered, key=lambda axis: axis.axis.partition("/")[0]):
        yield name, list(members)


def _week(vault: Vault, axes: list[AxisDrift]) -> Iterator[dict[str, Any]]:
    """What the newest snapshots of this week changed, in sentences."""
    since = now() - _WEEK
    fresh = [axis for axis in axes if axis.taken_at is not None and axis.taken_at > since]
    fresh.sort(key=lambda axis: axis.taken_at or since, reverse=True)
    for axis in fresh[:_MOST]:
        news: list[dict[str, Any]] = []
        told: list[VaultError] = []
        with told_apart(told.append, axis.axis):
            news += _news(vault, vault.address(axis.axis))
        yield from news
        for error in told:
            sentence = f"What changed cannot be told: {error_text(error)}"
            yield {"axis": axis.axis, "record": None, "sentences": [sentence]}


def _news(vault: Vault, address: Address) -> Iterator[dict[str, Any]]:
    latest, before = vault.index.nth_latest(address, 0), vault.index.nth_latest(address, 1)
    if latest is None:
        return
    changes: Sequence[str] = ["The first snapshot of this axis."]
    if before is not None:
        changes = _sentences_between(vault, address, before, latest)
    yield {"axis": str(address), "record": latest.record, "sentences": changes}


def _sentences_between(
    vault: Vault, address: Address, before: Snapshot, latest: Snapshot
) -> Sequence[str]:
    """What one snapshot changed after another: the same until somebody edits the axis record.

    That of the branch stands in where none was recorded when a snapshot was taken.
    """
    key = (address, before.id, latest.id, vault.axis_text(address), system())
    changes = _SENTENCES.get(key)
    if changes is None:
        sides = (State(s.id[:10], vault, address, s) for s in (before, latest))
        changes = tuple(sentences(compare(*map(view_of, sides)), 4)) or ("No setting changed.",)
        if len(_SENTENCES) >= _MOST_KEPT:
            _SENTENCES.clear()
        _SENTENCES[key] = changes
    return changes
