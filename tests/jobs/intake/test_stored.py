"""Whether the vault has an export already: the same bytes, of the same axis, at the same moment."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.intake.stored import find_given, find_stored_file
from vault.jobs.intake.visit import Visit, parse_visit
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
    found = find_given(vault, LIFT, export_text("2").encode(), Visit(BY, taken_at=WHEN))
    assert found is not None
    assert found.id == stored.id


def test_other_bytes_another_moment_and_another_axis_are_not(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    content = export_text("2").encode()
    assert find_given(vault, LIFT, content + b"\r\n", Visit(BY, taken_at=WHEN)) is None
    later = WHEN + timedelta(microseconds=1)
    assert find_given(vault, LIFT, content, Visit(BY, taken_at=later)) is None
    assert find_given(vault, Address("m1", "belt"), content, Visit(BY, taken_at=WHEN)) is None


def test_another_channel_of_the_same_bytes_is_another_export(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    content = export_text("2").encode()
    assert find_given(vault, LIFT, content, Visit(BY, channel=2, taken_at=WHEN)) is None


def test_a_file_is_found_by_the_time_that_it_states(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    found = take(export_text("3", saved="2026-03-05T08:00:00Z"), None).snapshot
    again = find_stored_file(vault, tmp_path / "lift.csv", LIFT, Visit(BY))
    assert again is not None
    assert again.id == found.id
    other = Visit(BY, taken_at=WHEN)
    assert find_stored_file(vault, tmp_path / "lift.csv", LIFT, other) is None


def test_a_bare_date_finds_what_came_in_on_that_day_and_no_other(
    vault: Vault, take: Take, export_text: Export
) -> None:
    content = export_text("4").encode()
    found = take(content, "2026-03-07T14:00:00").snapshot
    for day, known in (("06", None), ("07", found.id), ("08", None)):
        visit = parse_visit(BY, taken_at=f"2026-03-{day}")
        again = find_given(vault, LIFT, content, visit)
        assert (again and again.id) == known


def test_a_visit_that_does_not_say_when_is_not_looked_up_unread(
    vault: Vault, stored: Snapshot, export_text: Export
) -> None:
    assert find_given(vault, LIFT, export_text("2").encode(), Visit(BY)) is None
