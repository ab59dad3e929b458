"""Faults and waivers of all axes on the command line. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline.ending_waivers import ending_waivers
from vault.jobs.baseline.golden import approve, waive
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.faults.of_all_axes import faults_of_all
from vault.jobs.records.retire import retire_axis
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.store import clock
from vault.store.git.repository import Repository
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Export = Callable[..., str]
A, B = Address("m1", "lift"), Address("m2", "lift")


@pytest.fixture
def site(vault: Vault, take: Take, export_text: Export) -> Vault:
    for axis in (A, B):
        take(export_text(serial=str(axis)), to=str(axis))
        approve(vault, f"{axis}@latest", BY, "as it is")
    for axis, code, days in ((A, "lim/lag", 5), (A, "mov/speed", 99), (B, "lim/lag", 1)):
        until = f"{clock.now() + timedelta(days=days):%Y-%m-%d}"
        asked = parse_waiver_request(code, allow="any", until=until, reason="worn")
        waive(vault, axis, asked, BY)
    add_fault(vault, A, parse_fault("8611h", BY, at="2026-03-02T10:00:00Z"))
    add_fault(vault, B, parse_fault("X-1", BY, at="2026-03-03T10:00:00Z", note="loud"))
    return vault


def test_faults_of_all_axes_come_newest_first(site: Vault, cli: Cli) -> None:
    found = cli("fault", "list", "--json").json
    assert [(one["axis"], one["code"], one["name"]) for one in found["faults"]] == [
        ("m2/lift", "X-1", None), ("m1/lift", "8611h", "Following error too large"),
    ]  # fmt: skip
    assert found["counts"] == {"8611h": 1, "X-1": 1}
    only = cli("fault", "list", "--code", "x-1").stdout
    assert "m2/lift" in only
    assert "8611h" not in only
    assert cli("fault", "list", "m1/lift", "--code", "x-1").code == 2


def test_waivers_that_end_come_in_the_order_in_which_they_do(site: Vault, cli: Cli) -> None:
    found = cli("golden", "waivers", "--json").json
    assert [(one["axis"], one["code"], one["has_ended"]) for one in found["waivers"]] == [
        ("m2/lift", "lim/lag", False), ("m1/lift", "lim/lag", False),
    ]  # fmt: skip
    assert len(cli("golden", "waivers", "--days", "200", "--json").json["waivers"]) == 3
    told = cli("golden", "waivers", "--days", "0").stdout
    assert told == "No waiver has ended, and none ends within 0 days.\n"
    with pytest.raises(WrongUsage, match="no time to look ahead"):
        ending_waivers(site, 36501)


def test_a_waiver_that_has_ended_is_listed_until_somebody_takes_it_away(
    site: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    later = clock.now() + timedelta(days=20)
    monkeypatch.setattr("vault.jobs.baseline.ending_waivers.now", lambda: later)
    assert [(str(one.axis), one.has_ended) for one in ending_waivers(site, 0)] == [
        ("m2/lift", True), ("m1/lift", True),
    ]  # fmt: skip
    retire_axis(site, B, BY, "sold")
    assert [str(one.axis) for one in ending_waivers(site, 0)] == ["m1/lift"]


def test_a_file_that_cannot_be_read_hides_no_other(site: Vault) -> None:
    with site.writing():
        folder = "machines/m2/lift"
        broken = {f"{folder}/faults.yaml": b"faults: [\n", f"{folder}/golden.yaml": b"nothing\n"}
        site.write_files(broken, "by hand\n", BY)
    failures: list[VaultError] = []
    found, _ = faults_of_all(site, failures=failures)
    waivers = ending_waivers(site, 200, failures)
    assert {str(one.axis) for one in found} == {str(one.axis) for one in waivers} == {"m1/lift"}
    assert len(failures) == 2


def test_a_file_that_was_put_right_in_git_is_read_again(
    site: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Git has it under the id that it had, and the vault is where it was."""
    lost, blob = site.blobs_named("golden.yaml")[B], Repository.blob
    failures: list[VaultError] = []
    with monkeypatch.context() as damaged:
        damaged.setattr(
            Repository, "blob", lambda store, name: None if name == lost else blob(store, name)
        )
        assert {str(one.axis) for one in ending_waivers(site, 200, failures)} == {"m1/lift"}
    assert len(failures) == 1
    waivers = ending_waivers(site, 200, failures)
    assert {str(one.axis) for one in waivers} == {"m1/lift", "m2/lift"}
    assert len(failures) == 1


def test_what_did_not_change_is_not_read_again(
    site: Vault, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    faults_of_all(site)
    ending_waivers(site)
    read: list[str] = []
    blob = Repository.blob

    def noted(repository: Repository, name: str) -> bytes | None:
        read.append(name)
        return blob(repository, name)

    monkeypatch.setattr(Repository, "blob", noted)
    faults_of_all(site)
    ending_waivers(site)
    assert not [name for name in read if name in site.blobs_named("faults.yaml").values()]
    assert not [name for name in read if name in site.blobs_named("golden.yaml").values()]
