"""Names of trials and traces: a moment to the second, there and back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from vault.store.files.moment_names import is_moment_name, moment_of_name, name_of_moment


def test_a_name_is_the_moment_in_utc_and_the_moment_is_read_from_it() -> None:
    east = timezone(timedelta(hours=2))
    name = name_of_moment(datetime(2026, 3, 1, 1, 2, 3, 400, east))
    assert name == "2026-02-28T230203Z"
    assert moment_of_name(name) == datetime(2026, 2, 28, 23, 2, 3, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("2026-02-28T230203Z", True),
        ("2026-02-28T230203Z\n", False),
        ("2026-02-28T23:02:03Z", False),
        ("2026-02-30T230203Z", False),
        ("2026-13-01T230203Z", False),
        ("٢026-02-28T230203Z", False),
        ("yesterday", False),
    ],
)
def test_only_a_moment_that_there_is_names_one(text: str, is_one: bool) -> None:
    assert is_moment_name(text) is is_one
