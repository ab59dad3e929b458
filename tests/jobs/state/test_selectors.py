"""Selectors: every form of WHEN, present, absent and ambiguous; and exports on disk."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import set_axis
from vault.jobs.state.selectors import resolve
from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
Take = Callable[..., Any]
Export = Callable[..., str]
TIMES = ("2026-03-01T08:00:00+00:00", "2026-03-01T12:00:00+00:00", "2026-03-02T09:30:00+00:00")


@pytest.fixture(autouse=True)
def in_utc(monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("TZ", "UTC0")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def ids(vault: Vault, take: Take, export_text: Export) -> list[str]:
    """Commit ids of three snapshots of the lift; two of them of one day."""
    return [take(export_text(str(n)), when).snapshot.id for n, when in enumerate(TIMES)]


def place(vault: Vault, ids: list[str], when: str) -> int:
    state = resolve(vault, f"m1/lift@{when}")
    assert state.snapshot is not None
    return ids.index(state.snapshot.id)


@pytest.mark.parametrize(
    ("when", "number"),
    [
        ("latest", 2), ("", 2), ("~0", 2), ("previous", 1), ("~1", 1), ("first", 0), ("~2", 0),
        ("2026-03-01", 1), ("2026-03-02", 2), ("2031-01-01", 2),
        ("2026-03-01T08:00:00Z", 0), ("2026-03-01T11:59:59.999999Z", 0),
        ("2026-03-01T12:00Z", 1), ("2026-03-01 12:00:00+00:00", 1),
        ("2026-03-01T13:00:00+01:00", 1), ("2026-03-01T12:59:59+01:00", 0),
        ("2026-03-02T09:30:00-00:00", 2), ("2026-03-01T12:00:00", 1),
    ],
)  # fmt: skip
def test_when_finds_the_state_of_that_moment(
    vault: Vault, ids: list[str], when: str, number: int
) -> None:
    assert place(vault, ids, when) == number


def test_an_axis_alone_means_its_latest_snapshot(vault: Vault, ids: list[str]) -> None:
    state = resolve(vault, "m1/lift")
    assert state.snapshot is not None
    assert state.snapshot.id == ids[2]
    assert state.is_latest
    assert not resolve(vault, "m1/lift@~1").is_latest


def test_a_bare_date_means_the_end_of_the_local_day(
    vault: Vault, ids: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "EAST-14")  # 12:00 UTC is the next day there
    time.tzset()
    assert place(vault, ids, "2026-03-01") == 0
    monkeypatch.setenv("TZ", "WEST+12")
    time.tzset()
    assert place(vault, ids, "2026-03-01") == 2


def test_a_commit_is_found_by_the_start_of_its_id(vault: Vault, ids: list[str]) -> None:
    for number, commit in enumerate(ids):
        assert place(vault, ids, commit[:7]) == number
        assert place(vault, ids, commit.upper()) == number


def test_the_commit_of_something_else_means_the_axis_as_it_stood_there(
    vault: Vault, ids: list[str], take: Take, export_text: Export
) -> None:
    other = take(export_text(), "2026-03-05", to="m1/belt").snapshot.id
    take(export_text("8"), "2026-03-06")
    assert place(vault, ids, other[:10]) == 2


def test_of_two_snapshots_of_one_moment_the_one_that_stood_there_is_meant(
    vault: Vault, ids: list[str], take: Take, export_text: Export
) -> None:
    other = take(export_text(), "2026-03-05", to="m1/belt").snapshot.id
    ids.append(take(export_text("8"), TIMES[2]).snapshot.id)
    assert place(vault, ids, other) == 2


@pytest.mark.parametrize(
    ("when", "said"),
    [
        ("~3", "it has 3"),
        ("2026-02-28", "its first is of 2026-03-01 08:00"),
        ("2026-03-01T07:59:59.999999Z", "its first is of"),
        ("0123456", "has no snapshot '0123456'"),
        ("012345", "names no moment"),
        ("newest", "names no moment"),
        ("~", "names no moment"),
        ("~-1", "names no moment"),
        ("2026-02-30", "no date or time"),
        ("2026-03-01T", "no date or time"),
        ("golden", "no golden baseline"),
    ],
)
def test_what_is_not_there_is_refused_with_what_there_is(
    vault: Vault, ids: list[str], when: str, said: str
) -> None:
    with pytest.raises(WrongUsage, match=said):
        resolve(vault, f"m1/lift@{when}")


def test_previous_needs_two_snapshots(vault: Vault, take: Take, export_text: Export) -> None:
    take(export_text())
    with pytest.raises(WrongUsage, match="only one"):
        resolve(vault, "m1/lift@previous")


def test_an_id_that_fits_two_snapshots_asks_for_more_digits(vault: Vault, ids: list[str]) -> None:
    vault.index._database.execute("UPDATE snapshots SET id = 'abcdef0' || substr(id, 8)")
    with pytest.raises(WrongUsage, match="start of 3 snapshots") as caught:
        resolve(vault, "m1/lift@abcdef0")
    assert "more digits" in str(caught.value)
    assert resolve(vault, f"m1/lift@abcdef0{ids[1][7:]}").snapshot is not None


def test_golden_means_the_approved_snapshot(vault: Vault, ids: list[str]) -> None:
    approve(vault, f"m1/lift@{ids[1]}", BY, "accepted")
    assert place(vault, ids, "golden") == 1


@pytest.mark.parametrize("selector", ["lift", "", "@latest", "m1/lift/x", "/lift", "m1/", "../x"])
def test_what_names_no_axis_is_refused(vault: Vault, ids: list[str], selector: str) -> None:
    with pytest.raises(WrongUsage):
        resolve(vault, selector)


def lead(vault: Vault, selector: str) -> str | None:
    """Lead of the screw, as the record has it that goes with a state."""
    record = resolve(vault, selector).axis
    return None if record is None or record.mechanics is None else str(record.mechanics.lead)


def test_the_latest_state_goes_with_the_axis_record_of_today(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    """An older one goes with the record of its time, or with today's where there was none then."""

    def record(millimetres: int) -> None:
        kind = f"mechanics: {{kind: ball_screw, lead: {millimetres} mm}}"
        (tmp_path / "axis.yaml").write_text(f"schema: axisvault/axis/1\n{kind}\n")
        set_axis(vault, LIFT, tmp_path / "axis.yaml", BY)

    take(export_text("1"), TIMES[0])
    record(10)
    take(export_text("2"), TIMES[1])
    take(export_text("3"), TIMES[2])
    record(20)
    assert lead(vault, "m1/lift") == "20 mm"
    assert lead(vault, "m1/lift@previous") == "10 mm"
    assert lead(vault, "m1/lift@first") == "20 mm"


def test_a_misspelled_axis_gets_the_nearest_as_a_hint(vault: Vault, ids: list[str]) -> None:
    with pytest.raises(WrongUsage, match="did you mean m1/lift"):
        resolve(vault, "m1/left")


def test_an_axis_without_snapshot_says_how_to_get_one(vault: Vault) -> None:
    with vault.writing():
        record = b"schema: axisvault/axis/1\n"
        vault.write_files({"machines/m1/crane/axis.yaml": record}, "Axis\n", BY)
    with pytest.raises(WrongUsage, match="no snapshot yet"):
        resolve(vault, "m1/crane")


def test_a_file_stands_for_the_state_that_it_holds(
    vault: Vault, tmp_path: Path, export_text: Export
) -> None:
    path = tmp_path / "a@b.csv"
    path.write_text(export_text("4", serial="S-4"))
    state = resolve(vault, f"file:{path}")
    assert (state.snapshot, state.address, state.record) == (None, None, None)
    assert str(state.parameters["lim/lag"].value) == "4"
    assert state.nameplate["serial"] == "S-4"
    assert state.family_name == "hazel"
    assert state.export_content() == path.read_bytes()
    assert vault.index.count() == 0


def test_a_file_whose_family_cannot_be_told_is_read_with_the_one_named(
    vault: Vault, tmp_path: Path, export_text: Export
) -> None:
    path = tmp_path / "a.csv"
    path.write_text(export_text().replace("HZ-04", "unlabelled"))
    with pytest.raises(WrongUsage, match="no family of the vault"):
        resolve(vault, f"file:{path}")
    assert resolve(vault, f"file:{path}", family="hazel").family_name == "hazel"
    with pytest.raises(WrongUsage, match="no family 'yew'"):
        resolve(vault, f"file:{path}", family="yew")


def test_a_file_that_is_missing_is_named(vault: Vault, tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere.csv", tmp_path):
        with pytest.raises(Unreadable) as caught:
            resolve(vault, f"file:{path}")
        assert caught.value.file == str(path)
