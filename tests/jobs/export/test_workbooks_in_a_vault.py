"""A workbook on its whole way: its dictionary is added, it is taken in, shown and compared."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from tests.conftest import Outcome
from vault.formats import sheet
from vault.formats.file_kind import file_kind
from vault.jobs.export.content import MAX_LINE, read_content
from vault.store.files.edited_files import read_family
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
ROWS = (
    ("lim/lag", "Following error window", 2.5, "mm"),
    ("mov/speed", "Profile velocity", 100, "mm/s"),
    ("ref/way", "Homing method", 1, None),
    *((f"set/{n}", f"Setting {n}", 7 + n, None) for n in range(1, 21)),
)


def export(path: Path, **changed: object) -> Path:
    """Writes an export as a workbook; other values by the end of the code."""
    book = openpyxl.Workbook()
    book.active.title = "Parameters"
    book.active.append(("Drive", "HZ-04"))
    book.active.append(())
    book.active.append(("Code", "Name", "Value", "Unit"))
    for code, name, value, unit in ROWS:
        book.active.append((code, name, changed.get(code.rpartition("/")[2], value), unit))
    stream = BytesIO()
    book.save(stream)
    path.write_bytes(stream.getvalue())
    return path


@pytest.fixture
def dictionary(tmp_path: Path, family_text: str) -> Path:
    """A dictionary of drives like hazel whose exports are workbooks."""
    text = family_text.replace("name: hazel", "name: linden")
    text = text.replace("format: delimited", "format: sheet").replace('  delimiter: ";"\n', "")
    path = tmp_path / "linden.yaml"
    path.write_text(text)
    return path


@pytest.fixture
def plant(vault: Vault, dictionary: Path, cli: Cli) -> Vault:
    """A vault that has that dictionary."""
    added = cli("family", "add", dictionary)
    assert added.code == 0, added.stderr
    return vault


@pytest.mark.usefixtures("plant")
def test_workbooks_are_taken_in_shown_and_compared(tmp_path: Path, cli: Cli) -> None:
    for number, file in enumerate(
        (export(tmp_path / "a.xlsx"), export(tmp_path / "b.xlsx", lag=3, speed=120.5)), 1
    ):
        taken = cli("ingest", file, "--to", "m1/lift", "--taken-at", f"2026-03-0{number}T08:00:00Z")
        assert taken.code == 0, taken.stderr
    assert "120.5 mm/s" in cli("show", "m1/lift").stdout
    told = cli("compare", "m1/lift@2026-03-01", "m1/lift").stdout
    assert "2.5 mm" in told
    assert "3 mm" in told
    assert "Setting" not in told
    assert cli("verify").code == 0


@pytest.mark.usefixtures("plant")
def test_a_bad_cell_refuses_the_workbook_with_its_place(tmp_path: Path, cli: Cli) -> None:
    file = export(tmp_path / "a.xlsx", lag="#N/A")
    refused = cli("ingest", file, "--to", "m1/lift", "--taken-at", "2026-03-01T08:00:00Z", "--all")
    assert refused.code == 4
    assert "line 4" in refused.stderr
    assert "the cell holds the error #N/A" in refused.stderr
    assert "Parameters!C4" in refused.stderr


def test_what_is_written_back_is_read_as_the_dictionary_has_it(
    tmp_path: Path, dictionary: Path
) -> None:
    family = read_family(dictionary.read_bytes(), "linden.yaml")
    original = export(tmp_path / "a.xlsx").read_bytes()
    after = sheet.write_back(
        original,
        {"lim/lag": 4},
        file="a.xlsx",
        dialect=family.export,
        channel=None,
        drop=("set/2",),
    )
    found = sheet.read(after, file="a.xlsx", dialect=family.export, channel=None)
    there = {entry.code: entry.written for entry in found.entries}
    assert there["lim/lag"] == 4
    assert "set/2" not in there
    assert len(there) == len(ROWS) - 1


def test_a_workbook_has_no_lines_that_could_be_too_long(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(b"PK\x03\x04" + b"x" * (MAX_LINE + 10))
    assert len(read_content(path)) == MAX_LINE + 14


def test_a_workbook_that_no_family_reads_is_still_named(tmp_path: Path) -> None:
    file = export(tmp_path / "a.xlsx")
    kind = file_kind(file.read_bytes(), "a.xlsx")
    assert kind is not None
    assert kind.what == "a workbook of 1 sheet"


def restored(cli: Cli, folder: Path, *more: str) -> tuple[Outcome, list[Path]]:
    """A plan made for the axis, and the workbooks in its folder."""
    planned = cli("restore", "plan", "m1/lift", "--out", folder, "--json", *more)
    return planned, sorted(folder.glob("*.xlsx"))


@pytest.mark.usefixtures("plant")
def test_a_workbook_that_may_be_loaded_as_it_is_is_the_load_file(tmp_path: Path, cli: Cli) -> None:
    file = export(tmp_path / "a.xlsx")
    assert cli("ingest", file, "--to", "m1/lift").code == 0
    planned, (loaded,) = restored(cli, tmp_path / "plan")
    assert planned.code == 0, planned.stderr
    assert loaded.read_bytes() == file.read_bytes()


def changed(dictionary: Path, pattern: str, entry: str) -> None:
    """The dictionary with another line in place of one."""
    text, count = re.subn(pattern, entry, dictionary.read_text(), flags=re.MULTILINE)
    assert count == 1
    dictionary.write_text(text)


@pytest.mark.usefixtures("vault")
def test_what_may_not_be_loaded_is_taken_out_of_the_workbook(
    dictionary: Path, tmp_path: Path, cli: Cli
) -> None:
    changed(dictionary, r"^  set/1: .*$", "  set/1: {name: Safe speed, unit: mm/s, safety: true}")
    assert cli("family", "add", dictionary).code == 0
    assert cli("ingest", export(tmp_path / "a.xlsx"), "--to", "m1/lift").code == 0
    planned, (loaded,) = restored(cli, tmp_path / "plan")
    assert planned.code == 0, planned.stderr
    there = settings(loaded)
    assert "set/1" not in there
    assert there == {code: value for code, _, value, _ in ROWS if code != "set/1"}


@pytest.mark.usefixtures("vault")
def test_an_adapted_value_is_put_into_the_workbook(
    dictionary: Path, tmp_path: Path, cli: Cli
) -> None:
    lag = "{name: Following error window, role: following_error_window, scale: 0.001, unit: mm"
    changed(dictionary, r"^  lim/lag: .*$", f"  lim/lag: {lag}, range: [0, 2]}}")
    assert cli("family", "add", dictionary).code == 0
    assert cli("ingest", export(tmp_path / "a.xlsx"), "--to", "m1/lift").code == 0
    _, (left_out,) = restored(cli, tmp_path / "as-it-was")
    assert "lim/lag" not in settings(left_out)
    planned, (loaded,) = restored(cli, tmp_path / "adapted", "--adapt")
    assert planned.code == 0, planned.stderr
    assert settings(loaded) == {code: value for code, _, value, _ in ROWS} | {"lim/lag": 2}


def settings(path: Path) -> dict[str, object]:
    """Values by code, by openpyxl (a reference library)."""
    page = openpyxl.load_workbook(path).active
    return {row[0].value: row[2].value for row in page.iter_rows(min_row=4) if row[0].value}


@pytest.mark.usefixtures("plant")
def test_a_drive_whose_workbook_nobody_has_is_set_by_hand(
    dictionary: Path, tmp_path: Path, cli: Cli
) -> None:
    assert cli("ingest", export(tmp_path / "a.xlsx"), "--to", "m1/lift").code == 0
    other = dictionary.read_text().replace("name: linden", "name: aspen").replace("^HZ-", "^AS-")
    dictionary.write_text(other)
    assert cli("family", "add", dictionary).code == 0
    planned, files = restored(cli, tmp_path / "plan", "--onto", "aspen")
    assert planned.code == 0, planned.stderr
    plan = json.loads(planned.stdout)
    assert (files, plan["load_file"]) == ([], None)
    assert "typed in by hand" in planned.stdout
