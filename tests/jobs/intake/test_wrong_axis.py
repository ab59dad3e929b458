"""The guard against exports of another axis: by serial number, then by values."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.records.edit import add_family
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


def changed(text: str, settings: int, left_out: int, name: str | None = None) -> str:
    """An export of 24 rows without some, in which the first settings are 999; with a name."""
    rows = [row for row in text.split("\r\n") if row]
    rows = rows[: len(rows) - left_out]
    for number in range(1, settings + 1):
        rows = [f"set/{number};;999;" if row.startswith(f"set/{number};") else row for row in rows]
    return "\r\n".join([*rows, *([f"id/name;Name;{name};"] if name else []), ""])


@pytest.mark.parametrize(("differing", "is_refused"), [(3, False), (4, True)])
def test_up_to_15_percent_of_the_settings_may_differ(
    take: Take, export_text: Export, differing: int, is_refused: bool
) -> None:
    """Of 20 rows 3 are that share exactly."""
    take(changed(export_text(), 0, 4), "2026-03-01", to="m1/lift")
    take(changed(export_text(), differing, 4), "2026-03-01", to="m1/belt")
    again = changed(export_text(), differing, 4)
    if is_refused:
        with pytest.raises(Refused, match="4 of 20 settings differ from m1/lift"):
            take(again, "2026-03-02", to="m1/lift")
        return
    take(again, "2026-03-02", to="m1/lift")


def test_what_a_drive_is_called_is_no_setting_that_differs(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    known = "  id/name: {name: Name, role: device_name, type: VISIBLE_STRING}\n"
    (tmp_path / "named.yaml").write_text(family_text + known)
    add_family(vault, tmp_path / "named.yaml", "Mira <m@tileworks.example>")
    take(changed(export_text(), 0, 5, "one"), "2026-03-01", to="m1/lift")
    take(changed(export_text(), 3, 5, "two"), "2026-03-01", to="m1/belt")
    take(changed(export_text(), 3, 5, "two"), "2026-03-02", to="m1/lift")
