"""Checks and signatures one after the other: which plan and which target count. Invented data."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.restore.check import Checked, check_restore, checked_before
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.plan_folder import write_plan
from vault.jobs.restore.request import PlanRequest, parse_as_left
from vault.jobs.restore.sign_off import last_check, sign_off
from vault.jobs.restore.target import default_target
from vault.model.errors import Refused, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
Check = Callable[..., Checked]
Export = Callable[..., str]


@pytest.fixture
def plan(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Callable[[str], Path]:
    """Writes a plan of m1/lift, whose window was 1 mm and then 2 mm; gives its plan.json."""
    for lag in "12":
        take(export_text(lag), f"2026-03-0{lag}")

    def write(when: str) -> Path:
        folder = tmp_path / f"plan-{when}"
        write_plan(make_plan(vault, PlanRequest(f"m1/lift@{when}")), folder, BY)
        return folder / "plan.json"

    return write


@pytest.fixture
def check(vault: Vault, export_text: Export, tmp_path: Path) -> Check:
    """Checks the restore by an export with some window, taken on a day of April."""

    def run(lag: str, day: int, plan_file: Path | None = None) -> Checked:
        path = tmp_path / "left.csv"
        path.write_text(f"{export_text(lag)}\n")  # not the bytes that the vault has
        visit = parse_as_left(BY, taken_at=f"2026-04-{day:02}T08:00:00Z")
        return check_restore(vault, LIFT, path, visit, plan_file=plan_file)

    return run


def test_a_later_check_of_a_plan_that_was_signed_off_can_be_signed_too(
    vault: Vault, plan: Callable[[str], Path], check: Check
) -> None:
    plan("latest")
    first = check("2", 1)
    assert sign_off(vault, LIFT, "Yara <>").signed_off is not None
    with pytest.raises(Refused, match="Yara <> has signed this restore off already"):
        sign_off(vault, LIFT, BY)
    again = check("2", 2)
    signed = sign_off(vault, LIFT, BY).signed_off
    assert signed is not None
    assert (signed.by, signed.snapshot) == (BY, again.snapshot.id)
    assert signed.snapshot != first.snapshot.id


def test_a_check_of_an_earlier_plan_is_not_told_by_the_last_one(
    vault: Vault, plan: Callable[[str], Path], check: Check
) -> None:
    earlier = plan("first")
    plan("latest")
    checked = check("1", 1, earlier)
    assert checked.is_restored
    later = checked_before(vault, LIFT, checked.snapshot)
    assert later.plan is None, "what was planned last is another plan"
    assert last_check(vault, LIFT) is None
    with pytest.raises(WrongUsage, match="no restore of m1/lift waits for a signature"):
        sign_off(vault, LIFT, BY)


def test_a_check_is_told_by_its_own_plan_afterwards(
    vault: Vault, plan: Callable[[str], Path], check: Check
) -> None:
    plan("first")
    checked = check("1", 1)
    later = checked_before(vault, LIFT, checked.snapshot)
    assert (later.plan, later.target.snapshot) == (checked.plan, checked.target.snapshot)
    assert later.is_restored


@pytest.mark.parametrize(("lag", "chosen"), [("1", "planned"), ("2", "latest")])
def test_the_target_of_a_plan_stays_until_the_restore_is_done(
    vault: Vault, plan: Callable[[str], Path], check: Check, lag: str, chosen: str
) -> None:
    """The plan's target has a window of 2 mm; a check that found nothing left ends it."""
    plan("latest")
    check(lag, 1)
    target, which, _ = default_target(vault, LIFT)
    latest = vault.latest(LIFT)
    assert which == chosen
    assert target.snapshot is not None
    assert latest is not None
    assert (target.snapshot.id == latest.id) == (chosen == "latest")


def test_without_plan_and_baseline_a_snapshot_is_held_against_the_one_before_it(
    vault: Vault, take: Take, export_text: Export
) -> None:
    first = take(export_text("1"), "2026-03-01").snapshot
    second = take(export_text("2"), "2026-03-02").snapshot
    checked = checked_before(vault, LIFT, second)
    assert checked.target.snapshot is not None
    assert checked.target.snapshot.id == first.id
    assert [one.change.shown.code for one in checked.left_over.differences] == ["lim/lag"]
    with pytest.raises(WrongUsage, match="nothing that m1/lift@"):
        checked_before(vault, LIFT, first)
