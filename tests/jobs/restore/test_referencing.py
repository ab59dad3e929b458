"""Which offsets may differ after a restore since referencing sets them. Families are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.records.edit import add_family
from vault.jobs.restore.verdict import LeftOver, hold_against
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

Export = Callable[..., str]

OFFSETS = """\
  off/abs: {name: Encoder offset, role: encoder_absolute_offset, type: INTEGER32}
  off/com: {name: Commutation offset, role: commutation_offset, type: INTEGER32, default: 90}
"""


@pytest.fixture
def restored(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> Callable[..., LeftOver]:
    """What is left where the offsets were 500 and 120 before, and the window 2.5 mm."""
    text = family_text.replace("Saved: taken_at}", "Saved: taken_at, Motor: motor_serial}")
    for name, code in (("hazel", "off/"), ("willow", "w/")):
        own = (text + OFFSETS).replace("name: hazel", f"name: {name}").replace("off/", code)
        (tmp_path / f"{name}.yaml").write_text(own.replace("^HZ-", f"^{name[:2].upper()}-"))
        add_family(vault, tmp_path / f"{name}.yaml", BY)

    def export(motor: str, absolute: int, commutation: int, lag: str, code: str) -> str:
        head = f"Motor;{motor};;\r\n" if motor else ""
        return (
            f"{head}{export_text(lag)}{code}abs;Encoder offset;{absolute};\r\n"
            f"{code}com;Commutation offset;{commutation};\r\n"
        )

    def left(
        before: str = "M-1", after: str = "M-1", absolute: int = 700, commutation: int = 130,
        lag: str = "2,5", family: str = "hazel",
    ) -> LeftOver:  # fmt: skip
        take(export(before, 500, 120, "2,5", "off/"), "2026-03-01", family="hazel")
        code = "off/" if family == "hazel" else "w/"
        text = export(after, absolute, commutation, lag, code)
        take(text, "2026-03-02", name="left.csv", family=family, override_reason="restored")
        return hold_against(resolve(vault, "m1/lift@first"), resolve(vault, "m1/lift"))

    return left


def roles(found: LeftOver) -> tuple[set[str | None], dict[str | None, str]]:
    """Roles that keep the axis from being restored, and those that may differ, with why."""
    return (
        {one.change.shown.role for one in found.differences},
        {one.change.shown.role: one.reason for one in found.ignored},
    )


def test_the_encoder_of_another_motor_has_offsets_of_its_own(
    restored: Callable[..., LeftOver],
) -> None:
    kept, may = roles(restored(after="M-2"))
    assert kept == set()
    assert set(may) == {"encoder_absolute_offset", "commutation_offset"}
    assert all(said.startswith("of another encoder: set by referencing") for said in may.values())


def test_the_motor_that_was_there_keeps_its_offsets(restored: Callable[..., LeftOver]) -> None:
    kept, may = roles(restored())
    assert kept == {"encoder_absolute_offset", "commutation_offset"}
    assert may == {}


def test_where_nobody_knows_the_motor_the_place_may_differ_but_not_the_commutation(
    restored: Callable[..., LeftOver],
) -> None:
    kept, may = roles(restored(after=""))
    assert kept == {"commutation_offset"}
    assert may["encoder_absolute_offset"].startswith("nothing tells which motor is fitted")


def test_an_offset_as_delivered_says_that_the_axis_was_not_referenced(
    restored: Callable[..., LeftOver],
) -> None:
    kept, may = roles(restored(after="M-2", absolute=0, commutation=90))
    assert kept == {"encoder_absolute_offset", "commutation_offset"}
    assert may == {}


def test_another_motor_excuses_nothing_but_its_offsets(restored: Callable[..., LeftOver]) -> None:
    kept, _ = roles(restored(after="M-2", lag="3"))
    assert kept == {"following_error_window"}


def test_a_drive_of_another_family_counts_the_encoder_from_a_place_of_its_own(
    restored: Callable[..., LeftOver],
) -> None:
    kept, may = roles(restored(family="willow"))
    assert "encoder_absolute_offset" not in kept
    assert may["encoder_absolute_offset"].startswith("of another encoder")
