"""What people of the example plant left open, and what the demo says of it."""

from __future__ import annotations

import json
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.jobs.accounts.accounts import log_in
from vault.jobs.alerts.confirm import unconfirmed_channels
from vault.jobs.alerts.deliver import waiting
from vault.jobs.baseline.drift import drift
from vault.jobs.demo.controllers import add_controllers
from vault.jobs.demo.lived_in import ACCOUNT, Acts, add_acts
from vault.jobs.demo.unknown_drive import add_unknown_drive
from vault.jobs.faults.log import faults_of
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.verify.verify import verify
from vault.model.written_form import written_as
from vault.store.clock import now, parse_time
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault

Cli = Callable[..., Outcome]


@pytest.fixture(scope="module")
def made(works: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Acts]:
    folder = tmp_path_factory.mktemp("acts") / "plant"
    shutil.copytree(works, folder)
    add_unknown_drive(folder, lambda done, wanted: None)
    add_controllers(folder, lambda done, wanted: None)
    return folder, add_acts(folder)


@pytest.fixture
def demo(made: tuple[Path, Acts]) -> Iterator[Vault]:
    """The demo vault, for reading only."""
    with Vault.open(made[0]) as vault, written_as(vault.written_form):
        yield vault


def test_axes_drifted_in_two_classes_and_most_are_in_line(demo: Vault) -> None:
    found = drift(demo)
    drifted = [one for one in found if one.status == "drifted"]
    of_drives = {one.worst for one in drifted if ":" not in one.axis}
    assert of_drives == {"hazard", "dynamics"}
    assert {one.worst for one in drifted if ":" in one.axis} == {"link", "travel"}
    stands = Counter(one.status for one in found)
    assert stands == {"in_line": 12, "drifted": 8, "no_golden": 6}


def test_a_waiver_holds_and_ends_within_a_fortnight(demo: Vault) -> None:
    waivers = [waiver for axis in demo.axes() for waiver in demo.golden(axis).waivers]
    assert len(waivers) == 1
    assert now() < parse_time(waivers[0].until) < now() + timedelta(days=14)
    waived = [one.axis for one in drift(demo) if one.waived]
    assert waived == ["glaze-line-1/belt-feed"]


def test_an_alert_for_each_axis_that_drifted_is_in_the_file_beside_the_vault(
    made: tuple[Path, Acts], demo: Vault
) -> None:
    folder, acts = made
    assert acts.alerts.parent == folder.parent
    told = {json.loads(line)["axis"] for line in acts.alerts.read_text("utf-8").splitlines()}
    assert told == {one.axis for one in drift(demo) if one.status == "drifted"}
    assert unconfirmed_channels(demo) == []
    assert waiting(demo.state, demo.site_record.alerts) == []


def test_a_restore_is_open_and_two_faults_are_of_late(demo: Vault) -> None:
    [plan] = open_plans(demo)
    assert plan.step == "load"
    faults = [fault for axis in demo.axes() for fault in faults_of(demo, axis)]
    assert sum(now() - fault.at < timedelta(days=2) for fault in faults) == 2


def test_the_account_of_the_demo_lets_in(made: tuple[Path, Acts], demo: Vault) -> None:
    assert made[1].password is not None
    with Accounts(demo.state) as accounts:
        account, _ = log_in(accounts, ACCOUNT, made[1].password, "127.0.0.1")
    assert account.role == "admin"


def test_all_of_it_is_verified(demo: Vault) -> None:
    assert verify(demo).problems == []


def test_doing_it_again_adds_nothing_and_tells_no_password(made: tuple[Path, Acts]) -> None:
    folder, acts = made
    told = acts.alerts.read_bytes()
    with Vault.open(folder) as vault:
        tip = vault.tip
    again = add_acts(folder)
    with Vault.open(folder) as vault:
        assert vault.tip == tip
    assert again.password is None
    assert acts.alerts.read_bytes() == told
