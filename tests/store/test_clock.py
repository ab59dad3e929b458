"""Times: RFC 3339 section 5.6, local days, and what git can hold."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.model.errors import WrongUsage
from vault.store.clock import git_time, microseconds, now, parse_time, time_text

OFFSETS = st.integers(-12 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
MOMENTS = st.datetimes(datetime(1970, 1, 2), datetime(9999, 12, 30), timezones=OFFSETS)


@pytest.fixture
def in_zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Puts the process into a time zone, in POSIX spelling."""

    def put(zone: str) -> None:
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


# RFC 3339 section 5.8 gives these examples and says what they stand for.
@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
    ],
)
def test_the_examples_of_the_standard_are_read(text: str, meant: datetime) -> None:
    assert parse_time(text) == meant
    assert parse_time(text.lower().replace("t", " ")) == meant


def test_more_digits_than_microseconds_are_cut() -> None:
    assert parse_time("2026-03-01T08:00:00.123456789Z").microsecond == 123456


def test_seconds_may_be_left_out() -> None:
    assert parse_time("2026-03-01 08:15+01:00") == datetime(2026, 3, 1, 7, 15, tzinfo=UTC)


@given(MOMENTS)
def test_what_is_written_reads_back(moment: datetime) -> None:
    back = parse_time(time_text(moment))
    assert back == moment
    assert back.utcoffset() == moment.utcoffset()


@given(MOMENTS)
def test_the_key_that_orders_snapshots_is_exact(moment: datetime) -> None:
    assert microseconds(moment) == (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(
        microseconds=1
    )


@given(MOMENTS)
def test_git_time_is_the_same_moment_in_whole_seconds(moment: datetime) -> None:
    seconds, offset = git_time(moment).split(" ")
    assert int(seconds) == int(moment.replace(microsecond=0).timestamp())
    assert offset == f"{moment:%z}"


def test_a_bare_date_means_the_end_of_the_local_day(in_zone: Callable[[str], None]) -> None:
    in_zone("CET-1CEST,M3.5.0,M10.5.0/3")
    end = parse_time("2026-03-29")  # summer time begins on this day
    assert time_text(end) == "2026-03-29T23:59:59.999999+02:00"
    assert time_text(parse_time("2026-03-28")) == "2026-03-28T23:59:59.999999+01:00"


def test_a_bare_date_means_its_begin_where_something_begins(
    in_zone: Callable[[str], None],
) -> None:
    in_zone("CET-1CEST,M3.5.0,M10.5.0/3")
    begin = parse_time("2026-03-29", begins=True)  # summer time begins at two
    assert time_text(begin) == "2026-03-29T00:00:00+01:00"
    assert parse_time("2026-03-29T10:00Z", begins=True) == parse_time("2026-03-29T10:00Z")


def test_a_time_without_offset_is_local(in_zone: Callable[[str], None]) -> None:
    in_zone("XYZ+3:30")
    assert time_text(parse_time("2026-03-01T08:00:00")) == "2026-03-01T08:00:00-03:30"
    assert now().utcoffset() == timedelta(hours=-3, minutes=-30)


@pytest.mark.parametrize(
    "text",
    [
        "", "yesterday", "2026", "2026-13-01", "2026-02-30", "2026-03-01T25:00", "20260301",
        "2026-03-01T08", "2026-03-01T08:00:00+99:00", "2026-03-01T08:00Z Z", "0000-00-00",
        "10000-01-01", "9999-12-31T23:59:59-14:01", "2026-03-01T08:00:00.Z",
    ],
)  # fmt: skip
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(WrongUsage, match="is no date or time"):
        parse_time(text)


@pytest.mark.parametrize("text", ["1969-12-31", "1969-12-31T23:59:59Z", "0001-01-01T00:00:00Z"])
def test_what_lies_before_git_can_count_is_refused(
    text: str, in_zone: Callable[[str], None]
) -> None:
    in_zone("UTC0")
    with pytest.raises(WrongUsage, match="before 1970"):
        parse_time(text)


@pytest.mark.parametrize(
    "text", ["1970-01-01T00:00:00Z", "2025-12-31T23:59:59-12:00", "2026-03-01T08:00:00+14:00"]
)
def test_git_takes_every_time_that_we_take(
    text: str, take: Callable[..., Any], export_text: Callable[..., str], git: Callable[..., str]
) -> None:
    take(export_text(), text)
    assert git("log", "-1", "--format=%aI", "main").strip() == text.replace("Z", "+00:00")


@pytest.mark.parametrize("text", ["2026-03-01T08:00:00+14:01", "2026-03-01T08:00:00-15:00"])
def test_an_offset_that_git_refuses_is_refused_at_once(text: str) -> None:
    with pytest.raises(WrongUsage, match="is no date or time"):
        parse_time(text)
