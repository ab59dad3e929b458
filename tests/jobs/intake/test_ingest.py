"""Taking one export in. The family hazel and its exports are invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.take_in import take_in
from vault.jobs.intake.visit import parse_visit
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import now
from vault.store.recorder import recording
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Take = Callable[..., Any]
Export = Callable[..., str]


def test_an_export_becomes_a_snapshot_with_all_that_was_said(
    take: Take, export_text: Export
) -> None:
    found = take(
        export_text(serial="S-9"), "2026-03-01T08:00:00+01:00",
        occasion="as-left", work_order=" WO-1182 ", note=" A note.\r\nTwo lines. ",
    )  # fmt: skip
    record = found.snapshot.record
    assert record.by == BY
    assert record.occasion == "as-left"
    assert record.work_order == "WO-1182"
    assert record.note == "A note.\nTwo lines."
    assert record.family == "hazel"
    assert record.nameplate == {"drive": "HZ-04", "serial": "S-9"}
    assert found.parameters == 24
    assert found.comparison is None
    assert not found.unchanged


def test_the_second_snapshot_is_compared_with_the_first(take: Take, export_text: Export) -> None:
    take(export_text("2,5"), "2026-03-01")
    found = take(export_text("5"), "2026-03-02")
    assert [change.shown.code for change in found.comparison.news] == ["lim/lag"]
    assert not found.unchanged


def test_equal_settings_are_recorded_all_the_same(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text(), "2026-03-01")
    found = take(export_text(place="17"), "2026-03-02")
    assert found.unchanged, "a live value is no setting"
    assert vault.index.count(Address("m1", "lift")) == 2


def test_a_late_entry_is_compared_with_the_one_before_it_in_time(
    take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    take(export_text("9"), "2026-03-09")
    found = take(export_text("2"), "2026-03-02")
    (change,) = found.comparison.news
    assert (str(change.left.value), str(change.right.value)) == ("1", "2")


def test_without_a_time_the_exports_own_counts(take: Take, export_text: Export) -> None:
    found = take(export_text(saved="2025-11-05T07:30:00Z"), None)
    assert found.snapshot.record.taken_at == datetime(2025, 11, 5, 7, 30, tzinfo=UTC)


def test_a_time_that_was_given_counts_more_than_the_exports_own(
    take: Take, export_text: Export
) -> None:
    found = take(export_text(saved="2025-11-05T07:30:00Z"), "2025-11-06T00:00:00Z")
    assert found.snapshot.record.taken_at == datetime(2025, 11, 6, tzinfo=UTC)


def test_without_any_time_it_is_taken_now(take: Take, export_text: Export) -> None:
    before = now()
    taken = take(export_text(), None).snapshot.record.taken_at
    assert before <= taken <= now()


def test_a_drive_whose_clock_stands_at_its_beginning_is_told_apart(
    vault: Vault, take: Take, export_text: Export
) -> None:
    with pytest.raises(Unreadable, match="before 1970") as caught:
        take(export_text(saved="1969-12-31T22:00:00Z"), None)
    assert caught.value.file is not None
    assert "--taken-at" in str(caught.value)
    assert vault.index.count() == 0


def test_a_time_in_the_future_is_refused(vault: Vault, take: Take, export_text: Export) -> None:
    with pytest.raises(Refused, match="lies in the future"):
        take(export_text(), (now() + timedelta(days=40)).isoformat())
    assert vault.index.count() == 0


@pytest.mark.parametrize("name", ["ab:c?.csv", "con.csv", ".git", "…  .csv", "a" * 200 + ".csv"])
def test_an_export_of_any_name_gets_one_that_every_system_takes(
    vault: Vault, take: Take, export_text: Export, git: Callable[..., str], name: str
) -> None:
    found = take(export_text(), name=name)
    kept = found.snapshot.record.export_name
    assert not set(kept) & set(':?*<>|"/\\')
    assert kept.split(".")[0] not in ("", "con")
    assert git("show", f"main:machines/m1/lift/export/{kept}") == export_text()
    assert git("fsck", "--strict") == ""


def test_names_that_differ_in_case_only_are_refused(take: Take, export_text: Export) -> None:
    take(export_text(), to="m1/lift")
    for other in ("m1/Lift", "M1/lift", "M1/belt"):
        with pytest.raises(WrongUsage, match="upper and lower case"):
            take(export_text(), to=other)
    take(export_text(), to="m1/belt")


def test_a_name_whose_export_failed_does_not_stand_in_the_way(
    vault: Vault, export_text: Export
) -> None:
    who = parse_visit(BY, taken_at="2026-03-01")
    with vault.writing(), recording(vault) as recorder:
        with pytest.raises(Unreadable):
            read_for_axis(vault, Address("M1", "Lift"), b"Drive;HZ-04\nCode;Value\n", "a", who)
        text = export_text().encode()
        for axis in ("lift", "belt"):
            address = Address("m1", axis)
            take_in(vault, recorder, address, read_for_axis(vault, address, text, "b", who), who)
        for other in (Address("M1", "crane"), Address("m1", "Lift")):
            export = read_for_axis(vault, other, text, "b", who)
            with pytest.raises(WrongUsage, match="upper and lower case"):
                take_in(vault, recorder, other, export, who)
    assert vault.index.count() == 2


def test_a_family_that_was_named_needs_no_recognition(take: Take, export_text: Export) -> None:
    found = take(export_text().replace("HZ-04", "YW-1"), family="hazel")
    assert found.snapshot.record.family == "hazel"


def test_an_unknown_family_is_refused_with_those_there_are(take: Take, export_text: Export) -> None:
    with pytest.raises(WrongUsage, match="it has: hazel"):
        take(export_text(), family="yew")


def test_partial_takes_the_rest_and_records_what_was_left_out(
    take: Take, export_text: Export
) -> None:
    text = export_text("2,5 or so") + "set/20;Twice;1;\r\n"
    with pytest.raises(Unreadable, match="line 27: set/20 is given already in line 26") as caught:
        take(text)
    assert caught.value.line == 3
    found = take(text, partial=True)
    assert [s.line for s in found.snapshot.record.skipped] == [3, 27]
    assert "given already in line 26" in found.snapshot.record.skipped[1].reason
    assert found.parameters == 23
