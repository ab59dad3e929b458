"""Vaults that earlier versions wrote: they open, verify, drift and restore as they did then.

`old_vaults/format_1.tar.xz` is a vault of vault format 1 with everything beside the repository,
written by axisvault 0.1.0 of 2026-11-28 on exports of the invented tile works: a late entry, a
history joined by sync, a golden baseline with a waiver, a restore that was signed off, an export
read in part, a fault, an account, an alert that waits. `format_1.json` is what that version
answered about it. Neither is ever made anew.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from vault.jobs.accounts.accounts import log_in
from vault.jobs.state.selectors import resolve
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault

HERE = Path(__file__).with_name("old_vaults")
Cli = Callable[..., Outcome]
THEN: dict[str, Any] = json.loads((HERE / "format_1.json").read_text())


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """The old vault, unpacked as `tmp_path/plant`."""
    shutil.unpack_archive(HERE / "format_1.tar.xz", tmp_path / "plant")
    return tmp_path / "plant"


def test_it_verifies_with_the_same_witness(old: Path, cli: Cli) -> None:
    found = cli("verify", "--json").json
    assert {key: found[key] for key in THEN["verify"]} == THEN["verify"]
    assert found["problems"] == []


def test_what_drifts_is_the_same(old: Path, cli: Cli) -> None:
    drifts = cli("drift", "--json").json["axes"]
    keys = ("axis", "status", "golden", "latest", "waived")
    now = [
        {key: axis[key] for key in keys}
        | {"codes": sorted(change["code"] for change in axis["changes"])}
        for axis in drifts
    ]
    assert now == THEN["drift"]


@pytest.mark.parametrize("axis", list(THEN["raw values"]))
def test_every_raw_value_is_the_same(old: Path, cli: Cli, axis: str) -> None:
    parameters = cli("show", axis, "--json").json["parameters"]
    text = json.dumps([[p["code"], p["raw"]] for p in parameters], sort_keys=True)
    assert hashlib.sha256(text.encode()).hexdigest() == THEN["raw values"][axis]


def test_two_axes_differ_in_the_same_parameters(old: Path, cli: Cli) -> None:
    found = cli("compare", "glaze-line-1/lift", "glaze-line-2/lift", "--json").json
    assert sorted([c["code"], c["kind"]] for c in found["changes"]) == THEN["compare"]


def test_the_history_is_the_same(old: Path, cli: Cli) -> None:
    found = cli("history", "kiln-loader/hoist", "--json").json
    assert [entry["snapshot"] for entry in found["snapshots"]] == THEN["history"]


def test_a_restore_prepares_the_same_file(old: Path, cli: Cli, tmp_path: Path) -> None:
    planned = cli("restore", "plan", "kiln-loader/hoist@~1", "--out", str(tmp_path / "out"))
    assert planned.code == 0, planned.stderr
    content = (tmp_path / "out" / THEN["load file"]["name"]).read_bytes()
    assert hashlib.sha256(content).hexdigest() == THEN["load file"]["sha256"]


def test_alerts_that_wait_still_wait(old: Path, cli: Cli) -> None:
    waiting = cli("alerts", "list", "--json").json["alerts"]
    assert [[alert["channel"], alert["axis"]] for alert in waiting] == THEN["alerts"]


def test_an_account_still_lets_its_owner_in(old: Path) -> None:
    with Accounts(old / "axisvault") as accounts:
        assert [[a.name, a.role] for a in accounts.all()] == THEN["accounts"]
        account, _ = log_in(accounts, "mira", "correct horse battery staple 7", "192.0.2.7")
    assert account.person == "Mira Okafor <mira@tileworks.example>"


def test_it_goes_on_and_verifies_after_it(old: Path, cli: Cli, tmp_path: Path) -> None:
    export = tmp_path / "again.dcf"
    with Vault.open(old) as vault:
        export.write_bytes(resolve(vault, "glaze-line-1/lift").export_content())
    taken = cli(
        "ingest", str(export), "--to", "glaze-line-1/lift", "--taken-at", "2026-06-01T08:00:00Z"
    )
    assert taken.code == 0, taken.stderr
    found = cli("verify", "--json").json
    assert (found["ok"], found["snapshots"]) == (True, THEN["verify"]["snapshots"] + 1)
