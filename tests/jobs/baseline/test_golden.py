"""Approving, waiving, withdrawing. The family hazel and its exports are invented."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.baseline import golden
from vault.jobs.baseline.answers import ANSWERS
from vault.jobs.baseline.drift import drift, drift_of
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.edit import set_axis, set_site
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
PAVO = "Pavo Drostmaa <pavo@tileworks.example>"
LIFT = Address("m1", "lift")
Take = Callable[..., Any]
Export = Callable[..., str]
FAR = "2099-12-31"


@pytest.fixture
def policy(vault: Vault, tmp_path: Path) -> Callable[..., None]:
    """Sets the site's policy."""

    def set_policy(**lines: str) -> None:
        text = "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        path = tmp_path / "vault.yaml"
        path.write_text(text + "".join(f"{key}: {value}\n" for key, value in lines.items()))
        set_site(vault, path, BY)

    return set_policy


@pytest.fixture
def axis_yaml(vault: Vault, tmp_path: Path) -> Callable[..., None]:
    """Records an axis as built."""

    def record(address: Address, *lines: str) -> None:
        path = tmp_path / "axis.yaml"
        path.write_text("\n".join(["schema: axisvault/axis/1", *lines, ""]))
        set_axis(vault, address, path, BY)

    return record


def approve(vault: Vault, selector: str = "m1/lift", by: str = PAVO, **more: Any) -> None:
    golden.approve(vault, selector, by, more.pop("reason", "accepted"), **more)


def codes(vault: Vault, address: Address = LIFT) -> list[str]:
    return [deviation.change.shown.code for deviation in drift_of(vault, address).changes]


def test_what_is_approved_is_in_line(vault: Vault, take: Take, export_text: Export) -> None:
    take(export_text())
    assert drift_of(vault, LIFT).status == "no_golden"
    approve(vault)
    found = drift_of(vault, LIFT)
    assert (found.status, found.count, found.since) == ("in_line", 0, None)
    assert resolve(vault, "m1/lift@golden").snapshot == vault.latest(LIFT)


def test_an_approval_is_a_commit_that_says_who_and_why(
    vault: Vault, take: Take, export_text: Export, git: Callable[..., str]
) -> None:
    found = take(export_text())
    approve(vault, reason="accepted\nafter  service")
    said = git("log", "-1", "--format=%an <%ae>%n%B", "main").split("\n")
    assert said[0] == PAVO
    assert said[1] == "m1/lift: golden baseline approved"
    assert "accepted after service" in said
    assert f"Golden: {found.snapshot.id}" in said
    assert verify(vault).ok


def test_drift_counts_from_the_first_snapshot_that_drifted(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01")
    approve(vault)
    take(export_text("9"), "2026-03-02T08:00:00+00:00")  # drifts, and is put right again
    take(export_text("2,5"), "2026-03-03")
    take(export_text("4"), "2026-03-04T08:00:00+00:00")
    take(export_text("5"), "2026-03-05")
    found = drift_of(vault, LIFT)
    assert found.status == "drifted"
    assert [deviation.change.shown.code for deviation in found.changes] == ["lim/lag"]
    assert "2.5 mm became 5 mm" in found.changes[0].change.explanation
    assert found.since == datetime.fromisoformat("2026-03-04T08:00:00+00:00")


def test_live_values_and_other_hardware_are_no_drift(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text(serial="S-1"), "2026-03-01")
    approve(vault)
    take(export_text(serial="S-2", place="4711"), "2026-03-02", override_reason="drive swapped")
    found = drift_of(vault, LIFT)
    assert (found.status, found.count) == ("in_line", 0)
    assert found.hardware == ("nameplate, serial: S-1 became S-2.",)


def test_an_older_snapshot_can_be_approved_and_the_latest_has_drifted(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01")
    take(export_text("5"), "2026-03-02T08:00:00+00:00")
    approve(vault, "m1/lift@first")
    assert drift_of(vault, LIFT).since == datetime.fromisoformat("2026-03-02T08:00:00+00:00")


def test_ingest_tells_that_an_axis_is_not_as_approved(
    vault: Vault, take: Take, export_text: Export
) -> None:
    assert take(export_text("2,5"), "2026-03-01").drift is None
    approve(vault)
    assert take(export_text("2,5"), "2026-03-02").drift.status == "in_line"
    assert take(export_text("5"), "2026-03-03").drift.count == 1


# Policy


def test_who_took_the_snapshot_may_not_approve_it_where_two_are_wanted(
    vault: Vault, take: Take, export_text: Export, policy: Callable[..., None]
) -> None:
    take(export_text(), by=BY)
    approve(vault, by=BY)  # without a policy one is enough
    policy(approval="{second_person: true}")
    with pytest.raises(Refused, match="cannot approve it") as caught:
        approve(vault, by="Mira Okafor <mira@home.example>")
    assert caught.value.exit_code == 3
    approve(vault, by=PAVO)


@pytest.mark.parametrize("reason", [None, "", " \n "])
def test_a_reason_is_wanted_unless_the_policy_says_otherwise(
    vault: Vault, take: Take, export_text: Export, policy: Callable[..., None], reason: str | None
) -> None:
    take(export_text())
    with pytest.raises(Refused, match="needs a reason"):
        approve(vault, reason=reason)
    policy(approval="{reason: false}")
    approve(vault, reason=reason)
    assert vault.golden(LIFT).approval is not None


def test_a_finding_that_is_not_there_cannot_be_accepted(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text())
    with pytest.raises(WrongUsage, match="finds no made_up here"):
        approve(vault, accepted=["made_up"])


def test_a_file_cannot_be_approved(vault: Vault, tmp_path: Path, export_text: Export) -> None:
    path = tmp_path / "x.csv"
    path.write_text(export_text())
    with pytest.raises(WrongUsage, match="no snapshot of the vault"):
        approve(vault, f"file:{path}")


# Waivers


@pytest.fixture
def drifted(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2,5"), "2026-03-01")
    approve(vault)
    take(export_text("5"), "2026-03-02")
    return vault


def waive(vault: Vault, allow: str, until: str = FAR, code: str = "lim/lag") -> None:
    golden.waive(
        vault, LIFT, parse_waiver_request(code, allow=allow, until=until, reason="worn screw"), PAVO
    )


@pytest.mark.parametrize(
    ("allow", "status"),
    [
        ("4.5..5 mm", "in_line"),
        ("0.005 m", "in_line"),
        ("any", "in_line"),
        ("4.5..4.99 mm", "drifted"),
        ("5.01 mm..", "drifted"),
    ],
)
def test_a_waiver_covers_what_it_allows(drifted: Vault, allow: str, status: str) -> None:
    waive(drifted, allow)
    found = drift_of(drifted, LIFT)
    assert found.status == status
    assert len(found.waived) == (status == "in_line")


def test_a_waiver_is_found_by_role_and_replaced_by_a_newer_one(drifted: Vault) -> None:
    waive(drifted, "1..2 mm", code="following_error_window")
    waive(drifted, "4..6 mm")
    assert [w.code for w in drifted.golden(LIFT).waivers] == ["lim/lag"]
    assert drift_of(drifted, LIFT).status == "in_line"


def test_a_waiver_ends_with_its_day_in_local_time(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Europe/Berlin")
    import time

    time.tzset()
    try:
        waive(drifted, "any", until="2099-06-30")
        last = datetime.fromisoformat("2099-06-30T23:59:59+02:00")
        (before,) = drift(drifted, "m1/lift", last)
        (after,) = drift(drifted, "m1/lift", last + timedelta(seconds=2))
    finally:
        monkeypatch.undo()
        time.tzset()
    assert (before.status, after.status) == ("in_line", "drifted")
    ended = after.changes[0].waiver
    assert ended is not None
    assert ended.until == "2099-06-30", "it says which waiver ended"


def test_a_waiver_that_has_ended_is_not_granted(drifted: Vault) -> None:
    with pytest.raises(WrongUsage, match="has passed"):
        waive(drifted, "any", until="2026-03-03")


@pytest.mark.parametrize(
    ("allow", "code", "said"),
    [
        ("1..2 kg", "lim/lag", "cannot be compared with Following error window"),
        ("any", "no/such", "has a parameter 'no/such'"),
    ],
)
def test_a_waiver_must_fit_its_parameter(drifted: Vault, allow: str, code: str, said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        waive(drifted, allow, code=code)


def test_a_waiver_needs_a_reason_and_a_baseline(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text())
    with pytest.raises(Refused, match="needs a reason"):
        golden.waive(
            vault, LIFT, parse_waiver_request("lim/lag", allow="any", until=FAR, reason=" "), PAVO
        )
    with pytest.raises(WrongUsage, match="no golden baseline to be excepted from"):
        waive(vault, "any")


def test_a_waiver_can_be_withdrawn_alone(drifted: Vault) -> None:
    waive(drifted, "any")
    with pytest.raises(WrongUsage, match="no waiver for 'mov/speed'"):
        golden.withdraw(drifted, LIFT, PAVO, "-", waiver="mov/speed")
    golden.withdraw(drifted, LIFT, PAVO, "screw is new", waiver="lim/lag")
    assert drift_of(drifted, LIFT).status == "drifted"
    assert drifted.golden(LIFT).approval is not None


def test_a_new_baseline_keeps_the_waivers_that_hold(drifted: Vault) -> None:
    waive(drifted, "any")
    approve(drifted)
    assert [w.code for w in drifted.golden(LIFT).waivers] == ["lim/lag"]


def test_a_new_baseline_drops_the_waivers_that_have_ended(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    waive(drifted, "any", until="2099-06-30")
    waive(drifted, "any", until="2099-07-31", code="mov/speed")
    july = datetime.fromisoformat("2099-07-15T12:00:00+00:00")
    monkeypatch.setattr(golden, "now", lambda: july)
    approve(drifted)
    assert [w.code for w in drifted.golden(LIFT).waivers] == ["mov/speed"]


def test_a_withdrawn_baseline_leaves_no_file_and_stays_in_the_history(
    drifted: Vault, git: Callable[..., str]
) -> None:
    golden.withdraw(drifted, LIFT, PAVO, "approved by mistake")
    assert drift_of(drifted, LIFT).status == "no_golden"
    assert "golden.yaml" not in git("ls-tree", "-r", "--name-only", "main")
    assert git("log", "--format=%s", "main", "--", "machines/m1/lift/golden.yaml").count("\n") == 2
    with pytest.raises(WrongUsage, match="no golden baseline of its own"):
        golden.withdraw(drifted, LIFT, PAVO, "again")


def test_a_late_entry_leaves_the_baseline_alone(
    drifted: Vault, take: Take, export_text: Export
) -> None:
    before = drifted.golden(LIFT)
    take(export_text("7"), "2026-02-01")
    assert drifted.golden(LIFT) == before
    assert drift_of(drifted, LIFT).count == 1
    assert verify(drifted).ok


# Overdue


def test_an_axis_is_overdue_when_nothing_came_for_longer_than_wanted(
    vault: Vault, take: Take, export_text: Export, policy: Callable[..., None],
    axis_yaml: Callable[..., None],
) -> None:  # fmt: skip
    taken = now() - timedelta(days=40)
    take(export_text(), taken.isoformat())
    approve(vault)
    assert drift_of(vault, LIFT).status == "in_line"
    policy(export_every="30 d")
    found = drift_of(vault, LIFT)
    assert (found.status, found.overdue) == ("overdue", True)
    assert found.due == taken + timedelta(days=30)
    axis_yaml(LIFT, "export_every: 60 d")  # the axis's own interval goes first
    assert drift_of(vault, LIFT).status == "in_line"
    (later,) = drift(vault, "m1/lift", taken + timedelta(days=61))
    assert later.status == "overdue"


def test_an_axis_that_was_never_exported_is_overdue(
    vault: Vault, policy: Callable[..., None], axis_yaml: Callable[..., None]
) -> None:
    axis_yaml(LIFT, "title: Lift")
    assert drift_of(vault, LIFT).status == "no_golden"
    policy(export_every="30 d")
    assert drift_of(vault, LIFT).status == "overdue"


def test_what_drifted_and_is_overdue_has_drifted(
    drifted: Vault, policy: Callable[..., None]
) -> None:
    policy(export_every="1 d")
    (found,) = drift(drifted, "m1/lift", now() + timedelta(days=2000))
    assert (found.status, found.overdue) == ("drifted", True)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("export_every: 0 d", "more than zero"),
        ("export_every: 5 mm", "length"),
        ("approval: {second_man: true}", "second_man"),
        ("viewer: ftp://x", "viewer"),
    ],
)
def test_a_broken_policy_is_refused_with_file_line_and_key(
    vault: Vault, tmp_path: Path, line: str, said: str
) -> None:
    path = tmp_path / "vault.yaml"
    path.write_text(f"schema: axisvault/vault/1\nsite: Works\n{line}\n")
    with pytest.raises(Unreadable, match=said) as caught:
        set_site(vault, path, BY)
    assert (caught.value.file, caught.value.line) == (str(path), 3)


# Twins


TWIN = Address("m2", "lift")


def test_a_follower_drifts_from_the_other_axis_and_has_its_own_waivers(
    vault: Vault, take: Take, export_text: Export, axis_yaml: Callable[..., None]
) -> None:
    take(export_text("2,5"), "2026-03-01")
    approve(vault)
    take(export_text("4"), "2026-03-01", to="m2/lift", override_reason="a twin")
    axis_yaml(TWIN, "follows: m1/lift")
    found = drift_of(vault, TWIN)
    assert (found.status, found.follows) == ("drifted", "m1/lift")
    assert "2.5 mm on m1, 4 mm on m2" in found.changes[0].change.explanation
    golden.waive(
        vault,
        TWIN,
        parse_waiver_request("lim/lag", allow="3..4 mm", until=FAR, reason="longer hoses"),
        PAVO,
    )
    assert drift_of(vault, TWIN).status == "in_line"
    assert drift_of(vault, LIFT).waived == ()
    assert str(resolve(vault, "m2/lift@golden").address) == "m1/lift"


def test_the_follower_notices_a_new_baseline_of_the_axis_it_follows(
    vault: Vault, take: Take, export_text: Export, axis_yaml: Callable[..., None]
) -> None:
    take(export_text("2,5"), "2026-03-01")
    approve(vault)
    take(export_text("4"), "2026-03-01", to="m2/lift", override_reason="a twin")
    axis_yaml(TWIN, "follows: m1/lift")
    assert drift(vault)[0].status == "drifted"
    take(export_text("4"), "2026-03-02")
    approve(vault)
    assert {axis.axis: axis.status for axis in drift(vault)} == {
        "m1/lift": "in_line",
        "m2/lift": "in_line",
    }


def test_a_follower_has_no_baseline_of_its_own(
    vault: Vault, take: Take, export_text: Export, axis_yaml: Callable[..., None]
) -> None:
    take(export_text(), "2026-03-01")
    take(export_text(), "2026-03-01", to="m2/lift", override_reason="a twin")
    axis_yaml(TWIN, "follows: m1/lift")
    with pytest.raises(Refused, match="follows m1/lift"):
        approve(vault, "m2/lift")


@pytest.mark.parametrize(
    ("follows", "said"),
    [("m2/lift", "cannot follow itself"), ("m9/x", "there is no m9/x"), ("m3/lift", "itself")],
)
def test_whom_an_axis_cannot_follow(
    vault: Vault, take: Take, export_text: Export, axis_yaml: Callable[..., None],
    follows: str, said: str,
) -> None:  # fmt: skip
    take(export_text(), "2026-03-01")
    take(export_text(), "2026-03-01", to="m2/lift", override_reason="a twin")
    take(export_text(), "2026-03-01", to="m3/lift", override_reason="a twin")
    axis_yaml(Address("m3", "lift"), "follows: m1/lift")
    axis_yaml(TWIN, f"follows: {follows}")
    with pytest.raises(Unreadable, match=said) as caught:
        drift_of(vault, TWIN)
    assert caught.value.line == 2


# Kept looks


def test_a_second_look_at_an_unchanged_axis_loads_nothing(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = drift(drifted)
    ANSWERS.forget()

    def loaded(*_: object) -> None:
        raise AssertionError("a value was loaded")

    monkeypatch.setattr("vault.jobs.baseline.assess.compare_states", loaded)
    monkeypatch.setattr("vault.store.vault.Vault.golden", loaded)
    assert drift(drifted) == first


def test_an_equal_set_is_in_line_without_being_loaded(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text(), "2026-03-01")
    approve(vault)
    take(export_text(), "2026-03-02")

    def loaded(*_: object) -> None:
        raise AssertionError("a value was loaded")

    monkeypatch.setattr("vault.jobs.baseline.assess.compare_states", loaded)
    assert drift_of(vault, LIFT).status == "in_line"


def test_drift_is_right_without_a_kept_index(drifted: Vault) -> None:
    first = drift(drifted)
    drifted.index._database.execute("UPDATE assessments SET seen = 'x'")
    ANSWERS.forget()
    assert drift(drifted) == first
    drifted.reindex()
    ANSWERS.forget()
    assert drift(drifted) == first


def test_a_baseline_that_somebody_broke_is_named(drifted: Vault, git: Callable[..., str]) -> None:
    with drifted.writing():
        path = "machines/m1/lift/golden.yaml"
        drifted.write_files({path: b"schema: axisvault/golden/1\nbaseline: 5\n"}, "x\n", BY)
    with pytest.raises(Damaged, match="not as it was written: a part is of another kind"):
        drift_of(drifted, LIFT)
    assert [problem.kind for problem in verify(drifted).problems] == ["golden"]


def test_two_approvals_at_once_leave_one_of_them(drifted: Vault, tmp_path: Path) -> None:
    import os
    import sys

    run = [sys.executable, "-m", "vault", "--vault", str(drifted.repository.path), "golden"]
    root = str(Path(__file__).parents[3])
    environment = {**os.environ, "PYTHONPATH": root}
    started = [
        subprocess.Popen(
            [*run, "approve", f"m1/lift@{when}", "--by", PAVO, "--reason", when],
            env=environment, stdout=subprocess.DEVNULL,
        )
        for when in ("first", "latest")
    ]  # fmt: skip
    assert [process.wait(timeout=120) for process in started] == [0, 0]
    with Vault.open(drifted.repository.path) as vault:
        approval = vault.golden(LIFT).approval
        assert approval is not None
        assert approval.reason in ("first", "latest")
        assert verify(vault).ok


def test_an_export_is_in_even_where_the_baseline_cannot_be_read(
    drifted: Vault, take: Take, export_text: Export
) -> None:
    with drifted.writing():
        path = "machines/m1/lift/golden.yaml"
        drifted.write_files({path: b"schema: axisvault/golden/1\nbaseline: 5\n"}, "x\n", BY)
    found = take(export_text("6"), "2026-03-09")
    assert found.drift is None
    assert "golden baseline cannot be told" in found.warnings[-1]
    latest = drifted.latest(LIFT)
    assert latest is not None
    assert latest.id == found.snapshot.id


def test_files_of_a_machine_are_no_baselines_of_an_axis(drifted: Vault) -> None:
    with drifted.writing():
        drifted.write_files({"machines/m1/machine.yaml": b"title: Press\n"}, "x\n", BY)
    assert verify(drifted).ok
    assert [axis.axis for axis in drift(drifted)] == ["m1/lift"]


def test_an_axis_that_is_gone_is_not_told_of_again(
    drifted: Vault, axis_yaml: Callable[..., None]
) -> None:
    axis_yaml(Address("m1", "crane"), "title: Crane")
    assert {axis.axis for axis in drift(drifted)} == {"m1/lift", "m1/crane"}
    with drifted.writing():
        drifted.write_files({}, "x\n", BY, removed=["machines/m1/crane/axis.yaml"])
    for _ in range(2):  # the second look answers from what was found before
        assert {axis.axis for axis in drift(drifted)} == {"m1/lift"}
