"""A dictionary that learns from a device description, and keeps what people wrote."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome
from tests.description_texts import XDD
from vault.jobs.drafting.describe_family import describe_family
from vault.jobs.records.edit import add_family
from vault.model.errors import Unreadable, WrongUsage
from vault.store.vault import Vault

# An invented family; the description is of an invented drive.
OAK = """\
schema: axisvault/family/1
name: oak
title: Oak (invented)
open: true
export: {format: delimited, columns: {code: Code, value: Value}}
parameters:
  "0x6065:00": {name: Lag, type: DECIMAL, unit: mm}  # as drafted
  "0x2020:00": {name: Mode, access: rw, default: 1}
"""


@pytest.fixture
def oak(vault: Vault, tmp_path: Path) -> Vault:
    path = tmp_path / "oak.yaml"
    path.write_text(OAK, encoding="utf-8")
    add_family(vault, path, BY)
    return vault


def test_ranges_and_defaults_come_in_the_unit_and_what_is_there_stays(
    oak: Vault, tmp_path: Path
) -> None:
    path = tmp_path / "oak.xdd"
    path.write_text(XDD, encoding="utf-8")
    described = describe_family(oak, "oak", path, BY)
    file = oak.family_file("oak")
    window = file.family.parameters["0x6065:00"]
    # 0.1 of the parameter times 0.5 of its unit: 90,000 are 4,500 mm, 5,000 are 250 mm.
    assert [str(bound) for bound in window.range] == ["0", "4500"]
    assert str(window.default) == "250"
    assert "# as drafted" in file.content.decode()
    assert file.family.parameters["0x2020:00"].default == 1
    assert set(described.keys["0x6065:00"]) >= {"range", "default"}
    again = describe_family(oak, "oak", path, BY)
    assert again.added.unchanged


def test_what_describes_other_parameters_is_refused(oak: Vault, tmp_path: Path) -> None:
    other = tmp_path / "other.xdd"
    other.write_text(XDD.replace("6065", "3001").replace("2020", "3002"), encoding="utf-8")
    before = oak.family_file("oak").content
    with pytest.raises(WrongUsage, match="none of its"):
        describe_family(oak, "oak", other, BY)
    assert oak.family_file("oak").content == before


def test_an_export_is_no_description(oak: Vault, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("Code,Value\na,1\n", encoding="utf-8")
    with pytest.raises(Unreadable, match="no device description"):
        describe_family(oak, "oak", path, BY)


def test_the_command_counts_what_it_added(
    oak: Vault, tmp_path: Path, cli: Callable[..., Outcome]
) -> None:
    path = tmp_path / "oak.xdd"
    path.write_text(XDD, encoding="utf-8")
    told = cli("family", "describe", "oak", path).stdout
    assert "a device description after CiA 311" in told
    assert "range of 1" in told
    assert "nothing that is not there" in cli("family", "describe", "oak", path).stdout
