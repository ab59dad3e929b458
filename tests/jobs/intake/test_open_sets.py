"""Sets of an open dictionary in a vault: guards, comparison, baseline, restore, verification.

Drives, codes and values are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline import golden
from vault.jobs.baseline.drift import drift_of
from vault.jobs.records.edit import add_family
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.request import PlanRequest
from vault.jobs.restore.verdict import hold_against
from vault.jobs.state.check import check_state
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.model.errors import Refused
from vault.model.names import Address
from vault.model.replacement import Replacement
from vault.store.vault import Vault

SHORT = """\
schema: axisvault/family/1
name: elm
title: Elm drives (invented)
open: true
export:
  format: delimited
  delimiter: ";"
  columns: {code: Code, name: Name, value: Value, unit: Unit, access: Access}
  nameplate: {Drive: drive, Firmware: firmware}
  recognise: {drive: ^EL-}
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: DECIMAL, unit: mm}
"""
LIFT = "m1/lift"


def export_of(ramp: str = "1.10", *, wait: str | None = "0.25", lag: str = "2.5") -> str:
    rows = [
        "Drive;EL-1;;;",
        "Firmware;1.2;;;",
        "Code;Name;Value;Unit;Access",
        f"lim/lag;Window;{lag};mm;rw",
        f"run/ramp;Ramp;{ramp};m/s^2;rw",
        f"run/wait;Waiting time;{wait};s;rw",
        "run/hours;Hours run;912;h;ro",
        *(f"set/{n};Setting {n};{n};;rw" for n in range(1, 21)),
    ]
    if wait is None:
        rows = [row for row in rows if not row.startswith("run/wait")]
    return "\r\n".join([*rows, ""])


@pytest.fixture
def elm(vault: Vault, tmp_path: Path) -> Vault:
    """The vault, with the open family elm in it."""
    (tmp_path / "elm.yaml").write_text(SHORT)
    add_family(vault, tmp_path / "elm.yaml", BY)
    return vault


def plan_of(vault: Vault, fitted: Replacement | None = None) -> RestorePlan:
    return make_plan(vault, PlanRequest(f"{LIFT}@first", fitted or Replacement()))


def test_the_export_is_recognised_and_taken_in_without_a_remark(elm: Vault, take: Take) -> None:
    taken = take(export_of())
    assert (taken.snapshot.record.family, taken.parameters) == ("elm", 24)
    assert taken.warnings == ()
    assert taken.snapshot.record.told_coverage.is_whole


def test_a_change_of_what_it_does_not_know_is_told_plainly(elm: Vault, take: Take) -> None:
    take(export_of())
    take(export_of("1.30"), "2026-03-02T08:00:00+00:00")
    found = compare_states(resolve(elm, f"{LIFT}@first"), resolve(elm, LIFT)).comparison
    (change,) = found.changes
    assert (change.shown.code, change.kind, change.consequence) == (
        "run/ramp", "changed", "unclassified",
    )  # fmt: skip
    assert change.explanation.startswith("Ramp: 1.1 m/s^2 became 1.3 m/s^2")


def test_another_spelling_of_the_same_number_is_no_change(elm: Vault, take: Take) -> None:
    take(export_of("1.10"))
    assert take(export_of("1.1"), "2026-03-02T08:00:00+00:00").unchanged


def test_what_it_does_not_know_is_missed_when_it_goes(elm: Vault, take: Take) -> None:
    take(export_of())
    taken = take(export_of(wait=None), "2026-03-02T08:00:00+00:00")
    assert any("run/wait" in warning for warning in taken.warnings)
    with pytest.raises(Refused, match="20 parameters of the snapshot before"):
        short = [row for row in export_of(wait=None).split("\r\n") if not row.startswith("set/")]
        take("\r\n".join(short), "2026-03-03T08:00:00+00:00")


def test_what_must_always_be_there_need_not_be_described(
    elm: Vault, take: Take, tmp_path: Path
) -> None:
    text = SHORT.replace("parameters:", "always: [run/wait, run/ramp]\nparameters:")
    (tmp_path / "elm.yaml").write_text(text)
    add_family(elm, tmp_path / "elm.yaml", BY)
    with pytest.raises(Refused, match="1 parameter of dictionary elm is not in this export"):
        take(export_of(wait=None))


def test_it_is_approved_as_a_whole_set_and_drifts_by_any_of_its_codes(
    elm: Vault, take: Take
) -> None:
    take(export_of())
    golden.approve(elm, LIFT, BY, "accepted")
    take(export_of("1.30"), "2026-03-02T08:00:00+00:00")
    stands = drift_of(elm, Address.parse(LIFT))
    assert (stands.status, stands.count) == ("drifted", 1)


def test_what_it_does_not_know_can_be_waived(
    elm: Vault, take: Take, cli: Callable[..., Outcome]
) -> None:
    take(export_of())
    golden.approve(elm, LIFT, BY, "accepted")
    take(export_of("1.30"), "2026-03-02T08:00:00+00:00")
    limit = ("--allow", "1..2 m/s^2", "--until", "2099-12-31", "--reason", "worn")
    assert cli("golden", "waive", LIFT, "run/ramp", *limit).code == 0
    elm.refresh()
    assert drift_of(elm, Address.parse(LIFT)).status == "in_line"


def test_nothing_is_implausible_about_what_it_does_not_know(elm: Vault, take: Take) -> None:
    take(export_of())
    assert [c for c in check_state(resolve(elm, LIFT)) if "run/" in str(c.codes)] == []


def test_the_kept_export_is_loaded_and_a_person_is_told_what_nobody_knows(
    elm: Vault, take: Take
) -> None:
    take(export_of())
    plan = plan_of(elm)
    assert plan.load_file is not None
    assert plan.load_file.content == export_of().encode()
    assert {row.target.code for row in plan.never("read_only")} == {"run/hours"}
    assert any(
        "22 values in the load file that the dictionary does not" in w for w in plan.warnings
    )


def test_a_load_file_for_another_firmware_holds_them_and_leaves_out_what_is_read_only(
    elm: Vault, take: Take
) -> None:
    take(export_of())
    plan = plan_of(elm, Replacement(firmware="2.0"))
    assert plan.load_file is not None
    assert not plan.load_file.is_kept
    assert b"run/ramp;Ramp;1.1" in plan.load_file.content
    assert b"run/hours" not in plan.load_file.content


def test_a_restore_that_lacks_what_it_does_not_know_is_not_done(elm: Vault, take: Take) -> None:
    take(export_of())
    take(export_of("1.30", wait=None), "2026-03-02T08:00:00+00:00")
    left = hold_against(resolve(elm, f"{LIFT}@first"), resolve(elm, LIFT))
    assert {one.change.shown.code for one in left.differences} == {"run/ramp", "run/wait"}


def test_the_vault_verifies(elm: Vault, take: Take) -> None:
    take(export_of())
    take(export_of("1.30"), "2026-03-02T08:00:00+00:00")
    found = verify(elm)
    assert (found.problems, found.snapshots) == ([], 2)


def test_show_says_whether_one_may_be_written(
    elm: Vault, take: Take, cli: Callable[..., Outcome]
) -> None:
    take(export_of())
    shown = {one["code"]: one for one in cli("show", LIFT, "--json").json["parameters"]}
    assert (shown["run/hours"]["access"], shown["run/ramp"]["access"]) == ("ro", "rw")
    assert (shown["run/ramp"]["role"], shown["run/ramp"]["value"]) == (None, "1.1")
