"""Both sets of an axis held against each other: by check, restore and audit.

The family willow and the sets are invented. The drive's following error window is 2.5 mm.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome, Take
from tests.jobs.controller.conftest import APRIL, MARCH, MAY
from vault.jobs.baseline.golden import approve
from vault.jobs.intake.report import Ingested
from vault.jobs.records.edit import add_family, set_axis, set_site
from vault.jobs.state.check import check_state
from vault.jobs.state.check_documents import check_document
from vault.jobs.state.cross_checks import check_both, misfits
from vault.jobs.state.selectors import resolve
from vault.meaning.checks import cross_rules
from vault.model.names import Address
from vault.store.vault import Vault

WILLOW = """\
schema: axisvault/family/1
name: willow
title: Willow controllers, settings of one axis (invented, for tests)
export:
  format: delimited
  delimiter: ","
  columns: {code: Setting, name: Meaning, value: Value, unit: Unit}
  nameplate: {Controller: product}
  recognise: {product: ^WI-}
parameters:
  axis/lag_limit: {name: Lag limit, role: controller_following_error_limit, type: UNSIGNED32, scale: 0.01, unit: mm}
  axis/speed: {name: Speed, role: controller_move_velocity, type: UNSIGNED32, scale: 0.1, unit: mm/s}
  start/window: {name: Window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm}
"""  # noqa: E501
AXIS = """\
schema: axisvault/axis/1
mechanics: {kind: ball_screw, lead: 16 mm, max_speed: 100 mm/s}
controller: {match: [Lift], scale: {counts: 16000, per: 16 mm}}
"""
LIFT = Address("m1", "lift")
RULE = "controller_following_error"


def willow(lag: str = "2.50", speed: str = "50.0", window: str = "2.50") -> str:
    return "\n".join(
        (
            "Controller,WI-1,,", "Setting,Meaning,Value,Unit",
            f"axis/lag_limit,Lag limit,{lag},mm",
            f"axis/speed,Speed,{speed},mm/s",
            f"start/window,Window,{window},mm",
            "",
        )
    )  # fmt: skip


@pytest.fixture
def drive(vault: Vault, take: Take, tmp_path: Path, export_text: Callable[..., str]) -> Vault:
    """A vault with a set of the drive alone."""
    (tmp_path / "willow.yaml").write_text(WILLOW)
    add_family(vault, tmp_path / "willow.yaml", BY)
    take(export_text(), MARCH)
    (tmp_path / "axis.yaml").write_text(AXIS)
    set_axis(vault, LIFT, tmp_path / "axis.yaml", BY)
    return vault


@pytest.fixture
def controller(drive: Vault, take: Take) -> Callable[..., Ingested]:
    """Takes in a set of the controller's side, with what differs from one that fits."""

    def take_in(taken_at: str = MARCH, **values: str) -> Ingested:
        return take(willow(**values), taken_at, "m1/lift:controller", "lift-controller.csv")

    return take_in


def across(vault: Vault, selector: str = "m1/lift") -> list[str]:
    """Rules across both sides that complain."""
    found = check_both(resolve(vault, selector)).complaints
    return [one.rule for one in found if one.rule in cross_rules()]


def test_without_a_set_of_the_controller_nothing_is_held_against_one(drive: Vault) -> None:
    found = check_both(resolve(drive, "m1/lift"))
    assert found.beside is None and found.told_beside == ""
    assert across(drive) == []
    assert misfits(resolve(drive, "m1/lift")) == ([], None)
    assert check_document(found)["beside"] is None


def test_a_set_that_fits_has_no_complaint_and_one_that_does_not_has_its_own(
    drive: Vault, controller: Callable[..., Ingested]
) -> None:
    controller()
    assert across(drive) == []
    controller(APRIL, lag="3.00")
    (found,), beside = misfits(resolve(drive, "m1/lift"))
    assert beside is not None and beside.address == LIFT.controller
    assert "at a following error of 3 mm, the drive at 2.5 mm" in found.sentence
    assert found.look_at == ("lim/lag", "controller: axis/lag_limit")
    assert across(drive) == [RULE]
    assert across(drive, "m1/lift:controller") == [RULE], "from the other side it is the same"


def test_places_of_both_sides_are_told_with_their_names(
    drive: Vault, controller: Callable[..., Ingested]
) -> None:
    controller(lag="3.00")
    for selector in ("m1/lift", "m1/lift:controller"):
        checked = check_both(resolve(drive, selector))
        (found,) = (one for one in checked.complaints if one.rule == RULE)
        assert checked.looked_at(found) == [
            ("lim/lag", "Following error window"), ("controller: axis/lag_limit", "Lag limit"),
        ]  # fmt: skip


def test_an_older_set_is_held_against_that_of_its_moment(
    drive: Vault, controller: Callable[..., Ingested], take: Take, export_text: Callable[..., str]
) -> None:
    controller(APRIL, lag="3.00")
    take(export_text("3"), MAY)
    controller(MAY, lag="3.00", window="3.00")
    assert across(drive) == []
    assert across(drive, "m1/lift@first") == [], "by then there was none of the controller"
    take(export_text("2,5"), "2026-04-10T08:00:00+00:00")
    assert across(drive, "m1/lift@2026-04-20") == [RULE]
    told = check_both(resolve(drive, "m1/lift@2026-04-20")).told_beside
    assert told.startswith("Held against the controller's set, taken 2026-04-01")


def test_a_golden_baseline_is_held_against_the_golden_one_else_the_latest(
    drive: Vault, controller: Callable[..., Ingested]
) -> None:
    controller()
    approve(drive, "m1/lift", BY, "accepted")
    controller(APRIL, lag="3.00")
    assert across(drive, "m1/lift@golden") == [RULE]
    found = check_both(resolve(drive, "m1/lift@golden"))
    assert found.told_beside.startswith("Held against the controller's latest set, taken")
    approve(drive, "m1/lift:controller@first", BY, "accepted")
    assert across(drive, "m1/lift@golden") == []
    found = check_both(resolve(drive, "m1/lift@golden"))
    assert found.told_beside.startswith("Held against the controller's golden baseline, taken")
    assert across(drive) == [RULE], "the latest is held against the latest"


def test_what_does_not_fit_the_other_side_holds_up_no_approval(
    drive: Vault, controller: Callable[..., Ingested], tmp_path: Path
) -> None:
    head = "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
    (tmp_path / "site.yaml").write_text(f"{head}approval: {{clean_check: true}}\n")
    set_site(drive, tmp_path / "site.yaml", BY)
    controller(lag="3.00")
    alone = sorted({one.rule for one in check_state(resolve(drive, "m1/lift"))})
    assert across(drive) == [RULE] and RULE not in alone
    approve(drive, "m1/lift", BY, "accepted", alone)
    assert drive.golden(LIFT).approval is not None


def test_the_command_says_what_it_held_the_set_against(
    drive: Vault, controller: Callable[..., Ingested], cli: Callable[..., Outcome]
) -> None:
    snapshot = controller(lag="3.00").snapshot.id
    done = cli("check", "m1/lift")
    assert done.code == 1
    assert "Held against the controller's latest set" in done.stdout
    assert "controller: axis/lag_limit Lag limit" in " ".join(done.stdout.split())
    document = cli("check", "m1/lift", "--json").json
    assert document["beside"]["axis"] == "m1/lift:controller"
    assert document["beside"]["snapshot"] == snapshot
    assert RULE in [one["rule"] for one in document["findings"]]


def test_a_plan_tells_that_the_program_does_not_fit_what_is_restored(
    drive: Vault, controller: Callable[..., Ingested], cli: Callable[..., Outcome]
) -> None:
    def warnings(out: str) -> list[str]:
        document = cli("restore", "plan", "m1/lift", "--out", out, "--json").json
        return [one for one in document["warnings"] if "program does not fit" in one]

    approve(drive, "m1/lift", BY, "accepted")
    assert warnings("alone") == []
    controller()
    assert warnings("fits") == []
    controller(APRIL, lag="3.00")
    (told,) = warnings("changed")
    assert told.startswith("the controller's program does not fit the drive as restored: The contr")


def test_a_restore_is_checked_against_what_the_controller_writes_when_it_starts(
    drive: Vault,
    controller: Callable[..., Ingested],
    cli: Callable[..., Outcome],
    export_text: Callable[..., str],
    tmp_path: Path,
) -> None:
    controller(window="4.00")
    (tmp_path / "left.csv").write_text(export_text())
    assert cli("restore", "plan", "m1/lift", "--out", "plan").code == 0
    check: tuple[Any, ...] = ("restore", "check", "m1/lift", "left.csv")
    done = cli(*check, "--even-so", "read just now", "--json")
    assert done.json["restored"], "the drive is as it was; the next start changes that"
    assert [one["rule"] for one in done.json["misfits"]] == ["controller_start_up"]
    told = " ".join(cli(*check, "--even-so", "read just now").stdout.split())
    assert "The controller's program does not fit the drive as restored:" in told
    assert "Check a restore after a power cycle of both." in told


def test_what_does_not_fit_is_a_suspect_of_a_fault(
    drive: Vault, controller: Callable[..., Ingested], cli: Callable[..., Outcome]
) -> None:
    controller(lag="3.00")
    fault = ("audit", "m1/lift", "--fault", "8611h", "--at", MAY, "--json")
    suspects = cli(*fault).json["suspects"]
    assert "the limits of both sides do not fit" in str(suspects)
