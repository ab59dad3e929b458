"""Whether a change ended a fault. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from tests.conftest import BY, Take
from vault.jobs.audit.repeats import repeats
from vault.jobs.faults.log import add_fault
from vault.jobs.faults.of_all_axes import faults_of_all
from vault.model.fault_log import FaultEntry
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
Export = Callable[..., str]


def day(number: int, month: int = 3) -> datetime:
    return datetime(2026, month, number, 10, tzinfo=UTC)


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2,5"))
    return vault


def told(vault: Vault, moment: datetime) -> str:
    (found,) = repeats(vault, LIFT, moment)
    return found.sentence


def test_one_fault_is_too_few_to_say_anything(lift: Vault) -> None:
    add_fault(lift, LIFT, FaultEntry(day(2), "8611h", BY))
    assert told(lift, day(12)) == (
        "Seen once, 10 days ago: too few to say whether anything ended it."
    )


def test_a_standard_code_is_one_fault_however_it_is_noted(lift: Vault) -> None:
    for number, code in enumerate(("8611h", "0x8611", "8611"), 2):
        add_fault(lift, LIFT, FaultEntry(day(number), code, BY))
    assert told(lift, day(12)).startswith("Seen 3 times")
    (found,) = repeats(lift, LIFT, day(12))
    assert (found.code, found.name) == ("8611", "Following error too large")
    every, counts = faults_of_all(lift, "0x8611")
    assert [one.entry.code for one in every] == ["8611", "0x8611", "8611h"]
    assert counts == {"8611": 3}


def test_a_change_that_has_to_do_with_it_may_have_ended_it(
    lift: Vault, take: Take, export_text: Export
) -> None:
    """Every four days, then the window was widened and 35 days went by without."""
    for number in (2, 6, 10):
        add_fault(lift, LIFT, FaultEntry(day(number), "8611h", BY))
    assert "No setting that has to do with it was changed" in told(lift, day(14))
    take(export_text("2,5", settings=30), "2026-03-10T12:00:00+00:00")  # nothing to do with it
    assert "No setting that has to do with it was changed" in told(lift, day(14))
    ended = take(export_text("6"), "2026-03-11T08:00:00+00:00")
    assert "every 4.0 days on average" in told(lift, day(14))
    assert "Too early to say" in told(lift, day(14))
    said = told(lift, day(14, month=4))
    assert f"What changed on 2026-03-11 ({ended.snapshot.id[:10]}) may have ended it." in said
    by = repeats(lift, LIFT, day(14, month=4))[0].ended_by
    assert by is not None
    assert by.id == ended.snapshot.id
