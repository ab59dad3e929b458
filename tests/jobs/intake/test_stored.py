"""Whether the vault has an export already: the same bytes, of the same axis, at the same moment."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.intake.stored import find_stored, find_stored_file
from vault.jobs.intake.visit import Visit
from vault.model.names import Address
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
WHEN = datetime(2026, 3, 1, 8, tzinfo=UTC)
Export = Callable[..., str]


@pytest.fixture
def stored(take: Take, export_text: Export) -> Snapshot:
    take(export_text("1"), WHEN.isoformat())
    return take(export_text("2"), WHEN.isoformat()).snapshot


def test_the_same_bytes_at_the_same_moment_are_found_among_others(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    found = find_stored(vault, LIFT, export_text("2").encode(), Visit(BY), WHEN)
    assert found is not None
    assert found.id == stored.id


def test_other_bytes_another_moment_and_another_axis_are_not(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    content = export_text("2").encode()
    assert find_stored(vault, LIFT, content + b"\r\n", Visit(BY), WHEN) is None
    later = WHEN + timedelta(microseconds=1)
    assert find_stored(vault, LIFT, content, Visit(BY), later) is None
    assert find_stored(vault, Address("m1", "belt"), content, Visit(BY), WHEN) is None


def test_another_channel_of_the_same_bytes_is_another_export(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    content = export_text("2").encode()
    assert find_stored(vault, LIFT, content, Visit(BY, channel=2), WHEN) is None


def test_a_file_is_found_by_the_time_that_it_states(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    found = take(export_text("3", saved="2026-03-05T08:00:00Z"), None).snapshot
    again = find_stored_file(vault, tmp_path / "lift.csv", LIFT, Visit(BY))
    assert again is not None
    assert again.id == found.id
    other = Visit(BY, taken_at=WHEN)
    assert find_stored_file(vault, tmp_path / "lift.csv", LIFT, other) is None
