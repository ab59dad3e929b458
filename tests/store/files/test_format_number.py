"""The number of a vault's format: stated, raised, and refused where it is too high."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from vault.model.errors import Refused
from vault.store.files.vault_format import RECORDS, check_format, format_of, with_format
from vault.store.vault import Vault

OLD = b"# our works\nschema: axisvault/vault/1\nsite: Hall 2  # the new one\n"
ARCHIVE = Path(__file__).parents[2] / "old_vaults/format_1.tar.xz"


@pytest.mark.parametrize(
    ("site", "number"),
    [(OLD, 1), (OLD + b"reads: 3\n", 3), (OLD + b"reads: 2  # ours\r\n", 2), (b"", 1)],
)
def test_a_vault_states_its_format(site: bytes, number: int) -> None:
    assert format_of(site) == number


def test_raising_it_keeps_what_people_wrote() -> None:
    raised = with_format(OLD)
    assert raised == OLD.replace(b"vault/1\n", b"vault/1\nreads: %d\n" % RECORDS)
    assert with_format(raised) == raised


def test_a_lower_number_is_raised_and_a_higher_one_stays() -> None:
    assert format_of(with_format(OLD + b"reads: 1\n")) == RECORDS
    assert with_format(OLD + b"reads: 99\n") == OLD + b"reads: 99\n"


def test_a_vault_of_a_newer_program_is_refused_in_one_line() -> None:
    with pytest.raises(Refused, match="has format 99, and this program reads formats up to") as it:
        check_format(b"reads: 99\n", "plant")
    assert "\n" not in str(it.value)


@pytest.mark.parametrize("command", [("axis", "list"), ("verify",), ("drift",)])
def test_nothing_is_done_with_a_vault_of_a_newer_program(
    vault: Vault, cli: Callable[..., Outcome], command: tuple[str, ...]
) -> None:
    site = vault.read_required("vault.yaml", vault.tip)
    vault.write_files({"vault.yaml": with_format(site, 99)}, "Newer\n", BY)
    tip = vault.tip
    done = cli(*command)
    assert (done.code, "update axisvault" in done.stderr) == (3, True)
    assert vault.repository.tip() == tip


def test_the_first_snapshot_raises_the_format_of_an_old_vault(
    tmp_path: Path, cli: Callable[..., Outcome], git: Callable[..., str]
) -> None:
    shutil.unpack_archive(ARCHIVE, tmp_path / "plant")
    before = git("show", "main:vault.yaml")
    (tmp_path / "x.dcf").write_text(
        "[2010]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nParameterValue=6\n"
    )
    done = cli("ingest", tmp_path / "x.dcf", "--to", "m9/new", "--taken-at", "now")
    assert done.code == 0, done.stderr
    raised = git("show", "main:vault.yaml")
    assert format_of(raised.encode()) == RECORDS
    assert raised.replace(f"reads: {RECORDS}\n", "") == before
    assert cli("verify").code == 0


def test_looking_at_an_old_vault_changes_nothing(
    tmp_path: Path, cli: Callable[..., Outcome], git: Callable[..., str]
) -> None:
    shutil.unpack_archive(ARCHIVE, tmp_path / "plant")
    before: Any = git("rev-parse", "main")
    for command in (("show", "glaze-line-1/lift"), ("drift",), ("verify",), ("reindex",)):
        assert cli(*command).code in (0, 1)
    assert git("rev-parse", "main") == before


def test_a_site_that_people_put_in_keeps_the_format(
    vault: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    site = tmp_path / "site.yaml"
    site.write_bytes(OLD)
    assert cli("site", "set", site).code == 0
    vault.refresh()
    assert vault.read_required("vault.yaml", vault.tip) == with_format(OLD)
