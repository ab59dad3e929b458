"""The guard against exports of another axis: by serial number, then by values."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from vault.model.errors import Refused
from vault.model.names import Address
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]
LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")


def test_a_drive_last_seen_elsewhere_is_refused(
    vault: Vault, take: Take, export_text: Export, git: Callable[..., str]
) -> None:
    take(export_text(serial="S-1"), "2026-03-01", to="m1/lift")
    before = git("rev-parse", "main")
    with pytest.raises(Refused, match="S-1 was last seen at m1/lift, not at m1/belt") as caught:
        take(export_text(serial="S-1"), "2026-03-02", to="m1/belt")
    assert "--even-so" in str(caught.value)
    assert str(caught.value).count("\n") == 0
    assert git("rev-parse", "main") == before
    assert vault.index.count(BELT) == 0


def test_a_reason_overrides_the_guard_and_is_recorded(
    vault: Vault, take: Take, export_text: Export, git: Callable[..., str]
) -> None:
    take(export_text(serial="S-1"), "2026-03-01", to="m1/lift")
    text = export_text(serial="S-1")
    found = take(text, "2026-03-02", to="m1/belt", override_reason="moved\nover")
    assert found.snapshot.record.override_reason == "moved over"
    assert any("taken in although" in warning for warning in found.warnings)
    trailers = git("log", "-1", "--format=%(trailers:key=Even-So)", "main")
    assert trailers.strip() == "Even-So: moved over"


def test_a_reason_that_was_not_needed_is_not_recorded(take: Take, export_text: Export) -> None:
    found = take(export_text(serial="S-1"), override_reason="just in case")
    assert found.snapshot.record.override_reason is None


def test_a_spare_drive_that_nobody_has_seen_is_taken(take: Take, export_text: Export) -> None:
    take(export_text(serial="S-1"), "2026-03-01")
    take(export_text(serial="S-2"), "2026-03-02")
    with pytest.raises(Refused, match="last seen at m1/lift"):
        take(export_text(serial="S-2"), "2026-03-03", to="m1/belt")
    take(export_text(serial="S-1"), "2026-03-03", to="m1/belt")  # the drive that came free


@pytest.mark.parametrize("serial", ["", "0", "000000"])
def test_a_serial_number_that_says_nothing_is_no_reason(
    take: Take, export_text: Export, serial: str
) -> None:
    take(export_text(serial=serial), "2026-03-01", to="m1/lift")
    take(export_text(serial=serial), "2026-03-02", to="m1/belt")


def test_values_that_fit_another_axis_far_better_are_refused(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1", settings=100), "2026-03-01", to="m1/lift")
    take(export_text("2", settings=500), "2026-03-01", to="m1/belt")
    with pytest.raises(Refused, match="hardly any from m1/belt"):
        take(export_text("3", settings=500), "2026-03-02", to="m1/lift")
    assert vault.index.count(LIFT) == 1


def test_values_of_twins_that_hardly_differ_are_taken(take: Take, export_text: Export) -> None:
    take(export_text("1"), "2026-03-01", to="m1/lift")
    take(export_text("2"), "2026-03-01", to="m1/belt")
    take(export_text("2"), "2026-03-02", to="m1/lift")


def test_live_values_are_no_reason(take: Take, export_text: Export) -> None:
    take(export_text(place="1"), "2026-03-01", to="m1/lift")
    take(export_text(place="2"), "2026-03-01", to="m1/belt")
    take(export_text(place="2"), "2026-03-02", to="m1/lift")


def test_a_thorough_retuning_that_fits_nobody_else_is_taken(
    take: Take, export_text: Export
) -> None:
    take(export_text(settings=100), "2026-03-01", to="m1/lift")
    take(export_text(settings=500), "2026-03-01", to="m1/belt")
    take(export_text(settings=900), "2026-03-02", to="m1/lift")


def test_the_drive_that_was_here_last_time_may_change_all_its_values(
    take: Take, export_text: Export
) -> None:
    take(export_text(settings=100, serial="S-1"), "2026-03-01", to="m1/lift")
    take(export_text(settings=500, serial="S-2"), "2026-03-01", to="m1/belt")
    take(export_text(settings=500, serial="S-1"), "2026-03-02", to="m1/lift")
