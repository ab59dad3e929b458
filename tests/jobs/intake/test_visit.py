"""What people type about an export, in an option, a form, a manifest or a rule: one reading."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tests.conftest import BY
from vault.jobs.intake.visit import Visit, parse_visit
from vault.model.errors import WrongUsage


def test_what_was_left_empty_says_nothing() -> None:
    assert parse_visit(BY) == Visit(BY)
    empty = parse_visit(BY, "", " ", "", " ", family="", channel=" ", override_reason="  ")
    assert empty == Visit(BY)


def test_everything_that_was_typed_is_read() -> None:
    visit = parse_visit(
        f" {BY} ",
        "as-left",
        "2026-03-01T08:00:00Z",
        " WO-7 ",
        "first\r\nsecond",
        family=" hazel ",
        channel="2",
        partial=True,
        override_reason="new drive",
    )
    assert visit == Visit(
        by=BY,
        occasion="as-left",
        taken_at=datetime(2026, 3, 1, 8, tzinfo=UTC),
        work_order="WO-7",
        note="first\nsecond",
        family="hazel",
        channel=2,
        partial=True,
        override_reason="new drive",
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"occasion": "sometimes"}, "sometimes"),
        ({"taken_at": "yesterday"}, "'yesterday' is no date or time"),
        ({"channel": "both"}, "channel: 'both' is no such number"),
        ({"channel": "-1"}, "channel: '-1'"),
    ],
)
def test_what_cannot_be_read_is_named(typed: dict[str, str], said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        parse_visit(BY, **typed)  # type: ignore[arg-type]


def test_what_no_commit_message_can_carry_is_left_out() -> None:
    who = parse_visit(
        BY,
        work_order="WO\x00-1\x1b\n2",
        note="a\x00\tb\udc80\r\nc",
        override_reason="swap\x00ped\n\nit\ud800",
    )
    assert who.work_order == "WO-1 2"
    assert who.note == "a\tb\nc"
    assert who.override_reason == "swapped it"
    blank = parse_visit(BY, work_order=" \x00", note="\n", override_reason="\x07 ")
    assert (blank.work_order, blank.note, blank.override_reason) == (None, None, None)


@pytest.mark.parametrize("by", ["nobody <", "<a@b>", "A\nB <c>", ""])
def test_who_brings_it_must_have_a_name(by: str) -> None:
    with pytest.raises(WrongUsage, match="names nobody"):
        parse_visit(by)
