"""Where a site wants a trial: approvals and signatures wait for one that passed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from tests.trial_answers import filled
from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import set_site
from vault.jobs.restore.check import check_restore
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.plan_folder import record_plan
from vault.jobs.restore.request import PlanRequest, parse_as_left
from vault.jobs.restore.sign_off import sign_off
from vault.jobs.sync.sync import look
from vault.jobs.sync.sync import take as take_from
from vault.jobs.trials.add import add_trial
from vault.jobs.trials.template import trial_template
from vault.model.errors import Refused
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
Export = Callable[..., str]


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Vault:
    take(export_text("2"), "2026-03-01T08:00:00Z")
    site = tmp_path / "site.yaml"
    site.write_text("schema: axisvault/vault/1\nsite: Tile works\napproval: {trial: true}\n")
    set_site(vault, site, BY)
    return vault


def tried(vault: Vault, taken_at: str, tick: str = "ok") -> None:
    text = filled(trial_template(vault, LIFT).decode(), tick=tick)
    add_trial(vault, LIFT, text.encode(), "trial.yaml", BY, taken_at)


def test_an_approval_waits_for_a_trial(lift: Vault) -> None:
    with pytest.raises(Refused, match="has no trial, and the site wants one") as refused:
        approve(lift, "m1/lift", BY, "fine")
    assert refused.value.exit_code == 3
    tried(lift, "2026-03-02T08:00:00Z")
    assert approve(lift, "m1/lift", BY, "fine").approval is not None


def test_without_the_policy_nothing_is_asked(vault: Vault, take: Take, export_text: Export) -> None:
    take(export_text("2"), "2026-03-01T08:00:00Z")
    assert approve(vault, "m1/lift", BY, "fine").approval is not None


def test_a_reason_stands_in_for_a_trial_and_is_recorded(lift: Vault) -> None:
    approval = approve(lift, "m1/lift", BY, "fine", override_reason="no load today").approval
    assert approval is not None
    assert approval.override_reason == "no load today"


def test_a_reason_that_nobody_needs_is_not_recorded(lift: Vault) -> None:
    tried(lift, "2026-03-02T08:00:00Z")
    approval = approve(lift, "m1/lift", BY, "fine", override_reason="no load today").approval
    assert approval is not None
    assert approval.override_reason is None


def test_the_latest_trial_counts(lift: Vault) -> None:
    tried(lift, "2026-03-02T08:00:00Z")
    tried(lift, "2026-03-02T09:00:00Z", "failed")
    with pytest.raises(Refused, match="does not prove"):
        approve(lift, "m1/lift", BY, "fine")
    tried(lift, "2026-03-02T10:00:00Z")
    approve(lift, "m1/lift", BY, "fine")


def test_a_trial_that_left_something_open_is_none(lift: Vault) -> None:
    content = b"schema: axisvault/trial/1\njog: {stops: ok}\n"
    add_trial(lift, LIFT, content, "trial.yaml", BY, "2026-03-02T08:00:00Z")
    with pytest.raises(Refused, match="open"):
        approve(lift, "m1/lift", BY, "fine")


def test_a_trial_counts_for_equal_values_and_for_no_others(
    lift: Vault, take: Take, export_text: Export
) -> None:
    tried(lift, "2026-03-02T08:00:00Z")
    take(export_text("2", place="77"), "2026-03-03T08:00:00Z")  # it stood elsewhere
    approve(lift, "m1/lift", BY, "fine")
    take(export_text("4"), "2026-03-04T08:00:00Z")
    with pytest.raises(Refused, match="has no trial"):
        approve(lift, "m1/lift", BY, "fine")


def test_a_signature_waits_for_a_trial_too(
    lift: Vault, export_text: Export, tmp_path: Path
) -> None:
    plan = make_plan(lift, PlanRequest("m1/lift@latest"))
    record_plan(plan, BY)
    left = tmp_path / "left.csv"
    left.write_text(f"{export_text('2')}\n")
    check_restore(lift, LIFT, left, parse_as_left(BY, taken_at="now"))
    with pytest.raises(Refused, match="has no trial, and the site wants one"):
        sign_off(lift, LIFT, BY)
    signed = sign_off(lift, LIFT, BY, "tried before").signed_off
    assert signed is not None
    assert signed.override_reason is not None
    assert signed.override_reason.startswith("tried before; m1/lift@as-left has no trial")


def test_an_approval_of_another_copy_holds_by_its_trial(lift: Vault, tmp_path: Path) -> None:
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        tried(laptop, "2026-03-02T08:00:00Z")
        approve(laptop, "m1/lift", BY, "fine")
    looked = look(lift, str(tmp_path / "laptop"), BY)
    assert {change.kind: change.needs for change in looked.changes} == {
        "trial": None, "golden baseline": None,
    }  # fmt: skip
    take_from(lift, str(tmp_path / "laptop"), BY)
    assert lift.golden(LIFT).approval is not None
