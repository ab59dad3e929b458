"""Intervals of exports, set for many axes at once on the command line. All invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Text = Callable[..., str]


@pytest.fixture
def folder(vault: Vault, take: Take, export_text: Text, cli: Cli) -> Path:
    for axis in ("m1/lift", "m1/belt", "m2/lift"):
        take(export_text(), to=axis, override_reason="twins")
    return vault.repository.path


def due(vault: Vault) -> dict[str, str]:
    vault.refresh()
    records = {str(axis): vault.axis_record(axis) for axis in vault.axes()}
    return {axis: str(one.export_every) for axis, one in records.items() if one is not None}


def test_every_axis_that_fits_has_the_interval_and_the_others_not(
    folder: Path, cli: Cli, vault: Vault
) -> None:
    looked = cli("axis", "interval", "m1/*", "30 days", "--only-look")
    assert "m1/lift: an export would be due every 30 d" in looked.stdout
    assert due(vault) == {}
    done = cli("axis", "interval", "m1/*", "30 days")
    assert (done.code, done.stderr) == (0, "")
    assert due(vault) == {"m1/belt": "30 d", "m1/lift": "30 d"}
    again = cli("axis", "interval", "*", "30 d", "--json").json
    assert [one["axis"] for one in again["changed"]] == ["m2/lift"]
    assert "3 axes have it already" in cli("axis", "interval", "*", "30 days").stdout
    one = cli("axis", "interval", "m2/lift", "1 week").stdout
    assert one.endswith("; before: 30 d.\n")


def test_what_is_refused_comes_first_and_leaves_with_3_where_all_are(
    folder: Path, cli: Cli, vault: Vault
) -> None:
    path = layout.axis_file(Address("m1", "lift"))
    with vault.writing():
        vault.write_files({path: b"schema: axisvault/axis/1\nexport_every: [1, 2]\n"}, "x\n", BY)
    done = cli("axis", "interval", "m1/*", "30 days")
    assert done.code == 0
    assert done.stdout.startswith("refused  m1/lift: ")
    assert cli("axis", "interval", "m1/lift", "30 days").code == 3


@pytest.mark.parametrize(
    ("pattern", "every"), [("m1/*", "soon"), ("m9/*", "30 d"), ("m1/no", "3 d")]
)
def test_no_interval_and_no_axis_are_refused(
    folder: Path, cli: Cli, vault: Vault, pattern: str, every: str
) -> None:
    assert cli("axis", "interval", pattern, every).code == 2
    assert due(vault) == {}
