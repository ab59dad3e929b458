"""What an audit is asked, as options and forms have it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from vault.jobs.audit.question import Question, parse_question
from vault.model.errors import WrongUsage


def test_a_place_is_enough() -> None:
    assert parse_question(" m1/lift ", start="", end=None, fault=" ", at="") == Question("m1/lift")


def test_period_fault_and_time_are_read() -> None:
    question = parse_question(
        "m1", start="2026-01-01T00:00Z", end="2026-02-01T00:00Z", fault=" F-11 ",
        at="2026-01-09T03:52Z",
    )  # fmt: skip
    assert question == Question(
        "m1",
        datetime(2026, 1, 1, tzinfo=UTC),
        datetime(2026, 2, 1, tzinfo=UTC),
        "F-11",
        datetime(2026, 1, 9, 3, 52, tzinfo=UTC),
    )


def test_a_bare_date_is_its_begin_as_start_and_its_end_as_end() -> None:
    day = parse_question("m1", start="2026-01-09", end=" 2026-01-09 ")
    assert day.start == datetime(2026, 1, 9).astimezone()
    assert day.end == datetime(2026, 1, 9, 23, 59, 59, 999_999).astimezone()


def test_a_bare_date_of_a_fault_is_the_whole_day() -> None:
    day = parse_question("m1", at="2026-01-09")
    assert day.at_begin == datetime(2026, 1, 9).astimezone()
    assert day.at == datetime(2026, 1, 9, 23, 59, 59, 999_999).astimezone()


@pytest.mark.parametrize("name", ["start", "end", "at"])
def test_a_time_that_is_none_is_named(name: str) -> None:
    with pytest.raises(WrongUsage, match="'soon' is no date or time"):
        parse_question("m1", **{name: "soon"})


def test_without_a_place_nothing_is_asked() -> None:
    with pytest.raises(WrongUsage, match="the field 'place' is empty"):
        parse_question(" ")
