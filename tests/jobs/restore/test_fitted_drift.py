"""Drift that comes of replaced hardware says so, and what to approve. All invented."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.conftest import Outcome
from tests.jobs.controller.conftest import both, take_controller
from tests.jobs.restore.test_restore_story import Call, called_to
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.golden import approve
from vault.jobs.intake.report import Ingested
from vault.jobs.restore import fitted_drift
from vault.jobs.restore.fitted_drift import fitted_drift_of, with_fitted
from vault.jobs.restore.sign_off import sign_off
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

__all__ = ["both", "called_to", "take_controller"]
LIFT = "glaze-line-2/lift"
RESOLUTION = "0x608F:01"
APPROVER = "Ada Approver <ada@site.example>"
SECOND = "the approval of the as-left state"


def test_drift_of_a_replaced_encoder_waits_for_the_as_left_state(called_to: Call) -> None:
    night = called_to(LIFT)
    with Vault.open(night.folder / "plant") as vault:
        approve(vault, LIFT, APPROVER, "as commissioned")
    night.plan("--encoder-bits", "24+12", "--adapt")
    drive = night.replacement(**{"2010:02": "24"})
    night.commission(drive, night.load_file())
    night.check(drive, "--moved", "100 mm=100.0 mm")
    told = {one["code"]: one["awaits_approval"] for one in drifted(night.cli)}
    assert told[RESOLUTION].startswith("It belongs to the hardware that was replaced (adapted by")
    assert " ".join(night.cli("drift", LIFT).stdout.split()).count(SECOND) == sum(
        one is not None for one in told.values()
    )
    app = create_app(night.folder / "plant", is_local=True)
    for page in ("", "/golden"):
        text = app.test_client().get(f"/axis/{LIFT}{page}").text
        assert SECOND in text, page
    for page in ("/", "/machine/glaze-line-2", "/?state=drifted"):
        axes = app.test_client().get(f"/api/v1{page}").json["axes"]
        (lift,) = (one for one in axes if one["axis"] == LIFT)
        assert {one["code"]: one["awaits_approval"] for one in lift["changes"]} == told, page
    # A value that somebody turned since then is drift as any other.
    with Vault.open(night.folder / "plant") as vault:
        sign_off(vault, Address.parse(LIFT), APPROVER, "as planned")
    signed = {one["code"]: one["awaits_approval"] for one in drifted(night.cli)}
    assert signed == told
    drive.settings["608F:01"] = 2**23
    (night.folder / "later").write_bytes(drive.export("2026-04-03T05:00:00+02:00"))
    taken = night.cli("ingest", "later", "--to", LIFT, "--taken-at", "2026-04-03T05:00:00+02:00")
    assert taken.code == 0, taken.stderr
    later = {one["code"]: one["awaits_approval"] for one in drifted(night.cli)}
    assert later.pop(RESOLUTION) is None
    assert {why for why in later.values() if why} <= {why for why in told.values() if why}
    # A baseline that is newer than the plan is what the axis is held against from then on.
    with Vault.open(night.folder / "plant") as vault:
        address = Address.parse(LIFT)
        approve(vault, f"{LIFT}@previous", APPROVER, "as left")
        found = fitted_drift_of(vault, address)
        assert RESOLUTION in [one.change.shown.code for one in found.changes]
        assert found.fitted == ()


def test_a_controllers_set_is_not_restored_and_no_plan_is_asked_for_it(
    both: Vault, take_controller: Callable[..., Ingested], monkeypatch: pytest.MonkeyPatch
) -> None:
    approve(both, "m1/lift", APPROVER, "as built")
    approve(both, "m1/lift:controller", APPROVER, "as built")
    take_controller(interval="4.000")
    asked: list[Address] = []
    monkeypatch.setattr(fitted_drift, "planned", lambda vault, address: asked.append(address))
    found = drift(both)
    assert [one.axis for one in found if one.changes] == ["m1/lift:controller"]
    assert with_fitted(both, found) == found
    assert asked == []


def drifted(cli: Callable[..., Outcome]) -> list[dict[str, Any]]:
    (axis,) = cli("drift", LIFT, "--json").json["axes"]
    found: list[dict[str, Any]] = axis["changes"]
    return found
