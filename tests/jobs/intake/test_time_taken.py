"""When an export was taken: believed, proposed, refused to guess, and never in the future."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.store.clock import now
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
# Two objects with a head as CiA 306 has it; invented.
HEAD = "[FileInfo]\nModificationDate={}\nModificationTime=03:20PM\n"
OBJECT = (
    "[2010]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=6\n"
)


@pytest.fixture
def dcf(vault: Vault, tmp_path: Path) -> Callable[..., Path]:
    """Writes a DCF whose head has a date, and gives the file another one."""

    def write(head: datetime | None = None, date: datetime | None = None) -> Path:
        path = tmp_path / "lift.dcf"
        path.write_text((HEAD.format(f"{head:%m-%d-%Y}") if head else "") + OBJECT)
        if date is not None:
            os.utime(path, (date.timestamp(), date.timestamp()))
        return path

    return write


OLD = datetime(2020, 5, 15, 15, 20).astimezone()
OLDER = datetime(2019, 1, 2, 15, 20).astimezone()


def taken(cli: Cli, path: Path, *options: str) -> dict[str, object]:
    done = cli("ingest", path, "--to", "m1/lift", "--json", *options)
    assert done.code == 0, done.stderr
    found: dict[str, object] = done.json
    return found


def age(found: dict[str, object]) -> timedelta:
    return now() - datetime.fromisoformat(str(found["taken_at"]))


def test_without_any_old_date_it_is_dated_now(cli: Cli, dcf: Callable[..., Path]) -> None:
    found = taken(cli, dcf())
    assert age(found) < timedelta(minutes=5)
    assert found["taken_at_from"] == "now"


def test_where_all_dates_are_old_nobody_guesses(cli: Cli, dcf: Callable[..., Path]) -> None:
    done = cli("ingest", dcf(OLDER, OLD), "--to", "m1/lift")
    assert done.code == 2
    assert "Its date says 2020-05-15 15:20 and its head says 2019-01-02 15:20" in done.stderr
    assert "--taken-at file" in done.stderr
    assert "--taken-at now" in done.stderr
    assert "m1/lift" not in cli("axis", "list").stdout


def test_the_files_proposal_is_taken_where_somebody_says_so(
    cli: Cli, dcf: Callable[..., Path]
) -> None:
    found = taken(cli, dcf(OLD), "--taken-at", "file")
    assert found["taken_at"] == OLD.isoformat()
    assert found["taken_at_from"] == "file"


def test_now_is_taken_where_somebody_says_so(cli: Cli, dcf: Callable[..., Path]) -> None:
    found = taken(cli, dcf(OLD, OLD), "--taken-at", "now")
    assert age(found) < timedelta(minutes=5)


def test_a_file_of_today_with_an_old_head_is_dated_now_and_says_so(
    cli: Cli, dcf: Callable[..., Path]
) -> None:
    found = taken(cli, dcf(OLD))
    assert found["taken_at_from"] == "now"
    assert "its head says 2020-05-15 15:20" in str(found["warnings"])


def test_a_line_of_the_nameplate_is_believed(
    cli: Cli, vault: Vault, tmp_path: Path, export_text: Callable[..., str]
) -> None:
    path = tmp_path / "lift.csv"
    path.write_text(export_text(saved="2024-02-03T04:05:06+00:00"))
    found = taken(cli, path)
    assert found["taken_at"] == "2024-02-03T04:05:06+00:00"
    assert found["taken_at_from"] == "nameplate"


def test_a_time_that_is_given_goes_before_all(cli: Cli, dcf: Callable[..., Path]) -> None:
    found = taken(cli, dcf(OLD, OLD), "--taken-at", "2021-01-01T00:00:00+00:00")
    assert (found["taken_at"], found["taken_at_from"]) == ("2021-01-01T00:00:00+00:00", "given")


@pytest.mark.parametrize("when", ["2199-01-01T00:00:00Z", "2199-01-01"])
def test_a_date_in_the_future_is_refused(cli: Cli, dcf: Callable[..., Path], when: str) -> None:
    done = cli("ingest", dcf(), "--to", "m1/lift", "--taken-at", when)
    assert done.code == 3
    assert "lies in the future" in done.stderr


def test_an_export_that_says_the_future_is_refused(
    cli: Cli, vault: Vault, tmp_path: Path, export_text: Callable[..., str]
) -> None:
    path = tmp_path / "lift.csv"
    path.write_text(export_text(saved="2199-02-03T04:05:06+00:00"))
    done = cli("ingest", path, "--to", "m1/lift")
    assert (done.code, "--taken-at TIME" in done.stderr) == (3, True)


def test_a_bare_date_of_today_is_now(cli: Cli, dcf: Callable[..., Path]) -> None:
    found = taken(cli, dcf(), "--taken-at", f"{now():%Y-%m-%d}")
    assert timedelta(0) <= age(found) < timedelta(minutes=5)


def test_a_tree_takes_the_proposal_and_says_so(
    cli: Cli, dcf: Callable[..., Path], tmp_path: Path
) -> None:
    place = tmp_path / "tree/m1/lift"
    place.mkdir(parents=True)
    dcf(OLD, OLDER).rename(place / "lift.dcf")
    done = cli("ingest-tree", tmp_path / "tree", "--json")
    assert done.code == 0, done.stderr
    assert "dated as its date says 2019-01-02 15:20" in str(done.json["warnings"])
    latest = cli("show", "m1/lift", "--json").json
    assert latest["taken_at"] == OLDER.isoformat()
