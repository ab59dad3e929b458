"""Where git has the snapshots of some axes: what looking through all of the history tells."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.conftest import BY
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.jobs.verify.stored_snapshot import Places, places_since
from vault.model.names import Address
from vault.store.files import layout
from vault.store.index import recorded
from vault.store.vault import Vault

Take = Callable[..., Any]
LIFT, BELT, FEED = Address("m1", "lift"), Address("m1", "belt"), Address("m2", "feed")


@pytest.fixture
def lived_in(vault: Vault, take: Take, export_text: Callable[..., str]) -> Vault:
    """Snapshots in and out of order; an axis, and the machine of another, have new names."""
    for day, axis in enumerate((LIFT, BELT, FEED, LIFT, BELT), 10):
        take(export_text(str(day)), f"2026-03-{day}", to=str(axis), override_reason="another")
    take(export_text("2"), "2026-03-01", to=str(LIFT), override_reason="before all")
    take(export_text("3"), "2026-03-02", to=str(FEED), override_reason="before all")
    rename_axis(vault, BELT, "conveyor", BY, "it is called so")
    rename_machine(vault, "m2", "feeder", BY, "it is called so")
    return vault


def _of(
    places: Places, axes: set[Address]
) -> tuple[dict[Address, list[str]], dict[str, list[str]]]:
    paths = {layout.corrections_file(axis) for axis in axes}
    paths |= {layout.machine_corrections_file(axis.machine) for axis in axes}
    return (
        {
            axis: [p.commit for p in found]
            for axis, found in places.of_snapshots.items()
            if axis in axes
        },
        {path: blobs for path, blobs in places.of_corrections.items() if path in paths},
    )


@pytest.mark.parametrize("axes", [{LIFT}, {FEED}, {LIFT, FEED}, {BELT, Address("m3", "none")}])
@pytest.mark.parametrize("few", [0, 200])
def test_some_axes_are_told_as_all_of_them_are(
    lived_in: Vault, axes: set[Address], few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recorded, "_FEW", few)
    some = places_since(lived_in, axes=axes)
    assert _of(some, axes) == _of(places_since(lived_in), axes)
    assert len(some.of_corrections) == len(axes & {BELT, FEED})
    assert set(some.of_snapshots) == axes - {Address("m3", "none")}
