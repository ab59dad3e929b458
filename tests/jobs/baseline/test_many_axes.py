"""Approving and waiving on many axes at once. The family hazel and its exports are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.baseline import golden, kept_complaints
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.many_axes import approve_many, fitting, is_pattern, waive_many
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.edit import set_axis, set_site
from vault.jobs.state.check import Seen, check_state
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.meaning.reader import reading_in
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.model.remembered import Remembered
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
PAVO = "Pavo Drostmaa <pavo@tileworks.example>"
AXES = ["m1/belt", "m1/lift", "m2/lift"]
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def three(vault: Vault, take: Take, export_text: Export) -> Vault:
    for axis in AXES:
        take(export_text(serial=axis), to=axis)
    return vault


@pytest.fixture
def policy(vault: Vault, tmp_path: Path) -> Callable[[str], None]:
    def set_policy(approval: str) -> None:
        path = tmp_path / "vault.yaml"
        head = "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        path.write_text(f"{head}approval: {approval}\n")
        set_site(vault, path, BY)

    return set_policy


def record(vault: Vault, tmp_path: Path, axis: str, line: str) -> None:
    path = tmp_path / "axis.yaml"
    path.write_text(f"schema: axisvault/axis/1\n{line}\n")
    set_axis(vault, Address.parse(axis), path, BY)


def names(axes: Any) -> list[str]:
    return [axis.axis for axis in axes]


def test_all_axes_that_fit_are_approved_with_a_commit_each(
    three: Vault, git: Callable[..., str]
) -> None:
    before = three.tip
    found = approve_many(three, fitting(three, "m1/*"), PAVO, "accepted")
    assert names(found.approved) == ["m1/belt", "m1/lift"]
    assert (found.refused, found.already) == ((), ())
    subjects = git("log", "--reverse", "--format=%s|%an", f"{before}..main").splitlines()
    assert subjects == [
        "m1/belt: golden baseline approved|Pavo Drostmaa",
        "m1/lift: golden baseline approved|Pavo Drostmaa",
    ]
    stand = {axis.axis: axis.status for axis in drift(three)}
    assert stand == {"m1/belt": "in_line", "m1/lift": "in_line", "m2/lift": "no_golden"}
    assert verify(three).ok


def test_a_baseline_is_the_same_as_approved_alone(three: Vault) -> None:
    approve_many(three, ["m1/belt"], PAVO, "accepted")
    golden.approve(three, "m1/lift", PAVO, "accepted")
    one, other = (three.golden(Address.parse(axis)).approval for axis in AXES[:2])
    assert one is not None
    assert other is not None
    assert (one.by, one.reason, one.accepted) == (other.by, other.reason, other.accepted)
    latest = three.latest(Address.parse("m1/belt"))
    assert latest is not None
    assert one.snapshot == latest.id


def test_each_axis_is_judged_by_the_policy_and_the_others_go(
    three: Vault, take: Take, export_text: Export, policy: Callable[[str], None]
) -> None:
    take(export_text("3"), "2026-03-02", to="m1/lift", by=PAVO, override_reason="new")
    policy("{second_person: true}")
    found = approve_many(three, AXES, PAVO, "accepted")
    assert names(found.refused) == ["m1/lift"]
    assert "cannot approve it" in str(found.refused[0].refusal)
    assert names(found.approved) == ["m1/belt", "m2/lift"]
    assert three.golden(Address("m1", "lift")).approval is None


def test_every_refusal_is_the_one_of_a_single_approval(
    three: Vault, take: Take, export_text: Export, policy: Callable[[str], None], tmp_path: Path
) -> None:
    """No second copy of the rules: the same error, word for word."""
    policy("{clean_check: true, second_person: true}")
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    take(export_text(), "2026-03-02", to="m2/lift", by=PAVO)
    record(three, tmp_path, "m1/belt", "follows: m2/lift")
    record(three, tmp_path, "m3/lift", "title: no export yet")
    found = approve_many(three, fitting(three, "*"), PAVO, "accepted")
    assert not found.approved
    for axis in found.refused:
        with pytest.raises(VaultError) as alone:
            golden.approve(three, axis.axis, PAVO, "accepted")
        assert str(alone.value) == str(axis.refusal)
    assert names(found.refused) == [*AXES, "m3/lift"]


def test_without_a_reason_all_are_refused_and_nothing_is_written(three: Vault) -> None:
    before = three.tip
    found = approve_many(three, AXES, PAVO, None)
    assert names(found.refused) == AXES
    three.refresh()
    assert three.tip == before


def test_a_finding_is_accepted_by_name_on_every_axis_that_has_it(
    three: Vault, take: Take, export_text: Export, policy: Callable[[str], None]
) -> None:
    policy("{clean_check: true}")
    take(export_text("0"), "2026-03-02", to="m1/lift", override_reason="supervision off")
    looked = approve_many(three, AXES, PAVO, "accepted", looks_only=True)
    (refused,) = looked.refused
    rules = {complaint.rule for complaint in refused.complaints}
    assert rules
    found = approve_many(three, AXES, PAVO, "accepted", rules)
    assert names(found.approved) == AXES
    accepted = {axis.axis: set(axis.golden.approval.accepted) for axis in found.approved
                if axis.golden is not None and axis.golden.approval is not None}  # fmt: skip
    assert accepted == {"m1/belt": set(), "m1/lift": rules, "m2/lift": set()}


def test_a_finding_that_no_axis_has_cannot_be_accepted(three: Vault) -> None:
    with pytest.raises(WrongUsage, match="finds no made_up on any of these axes"):
        approve_many(three, AXES, PAVO, "accepted", ["made_up"])


def test_what_is_golden_already_is_not_approved_again(
    three: Vault, take: Take, export_text: Export
) -> None:
    approve_many(three, AXES, PAVO, "accepted")
    before = three.tip
    assert names(approve_many(three, AXES, PAVO, "again").already) == AXES
    assert three.tip == before
    take(export_text("3"), "2026-03-02", to="m1/lift")
    found = approve_many(three, AXES, PAVO, "again")
    assert (names(found.already), names(found.approved)) == (["m1/belt", "m2/lift"], ["m1/lift"])


def test_a_baseline_is_renewed_where_the_axis_was_rebuilt(three: Vault, tmp_path: Path) -> None:
    """The approval names the axis as built too, so that it is no longer what was approved."""
    approve_many(three, AXES, PAVO, "accepted")
    record(three, tmp_path, "m1/belt", "title: Belt, as it always was")
    record(three, tmp_path, "m1/lift", "mechanics: {kind: ball_screw, lead: 10 mm}")
    assert names(approve_many(three, AXES, PAVO, "new screw").approved) == ["m1/lift"]


def test_looking_says_the_same_and_writes_nothing(three: Vault) -> None:
    before = three.tip
    looked = approve_many(three, AXES, PAVO, "accepted", looks_only=True)
    three.refresh()
    assert looked.looked_only
    assert three.tip == before
    assert names(looked.approved) == names(approve_many(three, AXES, PAVO, "accepted").approved)


def test_what_was_looked_at_is_judged_again_where_somebody_wrote_meanwhile(
    three: Vault, take: Take, export_text: Export, policy: Callable[[str], None]
) -> None:
    policy("{clean_check: true}")
    arrived: list[bool] = []

    def progress(done: int, total: int) -> None:
        if done == total and not arrived:  # all are judged, and the vault is not locked yet
            arrived.append(True)
            with Vault.open(three.repository.path) as other:
                take(export_text("0"), "2026-03-09", to="m2/lift", into=other, override_reason="x")

    found = approve_many(three, AXES, PAVO, "accepted", progress=progress)
    assert arrived
    assert names(found.refused) == ["m2/lift"]
    assert names(found.approved) == ["m1/belt", "m1/lift"]


def test_progress_goes_from_the_first_axis_to_the_last(three: Vault) -> None:
    told: list[tuple[int, int]] = []
    approve_many(three, AXES, PAVO, "x", progress=lambda done, total: told.append((done, total)))
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


def test_a_pattern_may_name_a_moment(three: Vault, take: Take, export_text: Export) -> None:
    take(export_text("3"), "2026-03-02", to="m1/lift")
    found = approve_many(three, fitting(three, "m1/*@first"), PAVO, "as delivered")
    assert names(found.approved) == ["m1/belt", "m1/lift"]
    (lift,) = drift(three, "m1/lift")
    assert lift.status == "drifted"


@pytest.mark.parametrize(
    ("selector", "is_one"),
    [("m1/*", True), ("m?/lift", True), ("m[12]/lift", True), ("m1/lift@previous", False)],
)
def test_a_pattern_is_told_from_an_axis(selector: str, is_one: bool) -> None:
    assert is_pattern(selector) == is_one


def test_a_pattern_that_fits_nothing_is_wrong(three: Vault) -> None:
    with pytest.raises(WrongUsage, match="no axis fits 'm9/"):
        fitting(three, "m9/*")


def test_axes_checked_together_are_found_the_same_in(three: Vault) -> None:
    seen = Seen(three)
    for axis in AXES:
        state = resolve(three, axis)
        assert check_state(state, seen) == check_state(state)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the states that were checked, and not known from before."""
    checked: list[str] = []

    def counted(state: Any, seen: Any) -> list[Any]:
        checked.append(state.name)
        return []

    monkeypatch.setattr(kept_complaints, "_KEPT", Remembered(100))
    monkeypatch.setattr(kept_complaints, "check_state", counted)
    return checked


def looked(vault: Vault) -> None:
    approve_many(vault, AXES, PAVO, "x", looks_only=True)


def test_who_looks_and_approves_what_he_saw_waits_once(three: Vault, asked: list[str]) -> None:
    looked(three)
    approve_many(three, AXES, PAVO, "x")  # it moves the branch, after it judged
    assert asked == AXES


def test_an_export_is_a_reason_to_check_its_own_machine_again_and_no_other(
    three: Vault, asked: list[str], take: Take, export_text: Export
) -> None:
    looked(three)
    take(export_text("3", serial="m1/belt"), to="m1/belt")
    asked.clear()
    looked(three)
    assert asked == ["m1/belt", "m1/lift"]
    asked.clear()
    looked(three)
    assert asked == []


def test_an_export_of_the_pair_is_a_reason_to_check_an_axis_again(
    three: Vault, asked: list[str], take: Take, export_text: Export, tmp_path: Path
) -> None:
    record(three, tmp_path, "m1/lift", "pair: m2/lift")
    looked(three)
    take(export_text("3", serial="m2/lift"), to="m2/lift")
    asked.clear()
    looked(three)
    assert asked == ["m1/lift", "m2/lift"]


def test_what_is_of_the_whole_site_is_a_reason_to_check_all_again(
    three: Vault, asked: list[str], policy: Callable[[str], None]
) -> None:
    looked(three)
    policy("{second_person: true}")
    asked.clear()
    looked(three)
    assert asked == AXES


def test_findings_are_kept_for_a_readers_units(three: Vault, asked: list[str]) -> None:
    looked(three)
    with reading_in("inch"):
        looked(three)
    assert asked == AXES * 2


# Waivers


def waiver(code: str = "lim/lag") -> Any:
    return parse_waiver_request(code, allow="any", until="2099-12-31", reason="worn screw")


def test_a_waiver_is_made_on_every_axis_that_has_a_baseline(
    three: Vault, git: Callable[..., str]
) -> None:
    approve_many(three, AXES[:2], PAVO, "accepted")
    before = three.tip
    found = waive_many(three, AXES, waiver(), PAVO)
    assert names(found.waived) == AXES[:2]
    assert [(axis.axis, str(axis.refusal).split(" to be")[0]) for axis in found.refused] == [
        ("m2/lift", "m2/lift has no golden baseline")
    ]
    subjects = git("log", "--reverse", "--format=%s", f"{before}..main").splitlines()
    assert subjects == ["m1/belt: lim/lag waived", "m1/lift: lim/lag waived"]
    assert [w.code for w in three.golden(Address("m1", "belt")).waivers] == ["lim/lag"]
    assert verify(three).ok


def test_looking_at_waivers_writes_nothing(three: Vault) -> None:
    approve_many(three, AXES, PAVO, "accepted")
    before = three.tip
    found = waive_many(three, AXES, waiver(), PAVO, looks_only=True)
    three.refresh()
    assert names(found.waived) == AXES
    assert three.tip == before


def test_every_refused_waiver_is_refused_as_alone(three: Vault) -> None:
    approve_many(three, AXES[:1], PAVO, "accepted")
    found = waive_many(three, AXES, waiver("no/such"), PAVO)
    for axis in found.refused:
        with pytest.raises(VaultError) as alone:
            golden.waive(three, Address.parse(axis.axis), waiver("no/such"), PAVO)
        assert str(alone.value) == str(axis.refusal)
    assert names(found.refused) == AXES
