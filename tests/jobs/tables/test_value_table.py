"""The table of values over time. DuckDB reads it as others will; what axes held at a time is asked
of `show`, which finds it another way."""

import csv
import re
import shutil
import sys
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import duckdb
import pytest

from tests.conftest import ROOT, Take, every_snapshot
from vault.jobs.inspect.documents import parameter_set_document
from vault.jobs.inspect.show import shown_parameters
from vault.jobs.state.selectors import State
from vault.jobs.tables.write_table import COLUMNS, write_table
from vault.model.errors import Unavailable, WrongUsage
from vault.model.roles import find as role_named
from vault.store.vault import Vault

SITE = "site=Tile works %28invented example%29"


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def held(rows: list[dict[str, str]], axis: str, at: datetime) -> dict[str, tuple[str, ...]]:
    """What a table says that an axis held at a moment, by code."""
    return {
        row["code"]: tuple(row[key] for key in ("value", "unit", "label", "role"))
        for row in rows
        if f"{row['machine']}/{row['axis']}" == axis
        and datetime.fromisoformat(row["valid_from"]) <= at
        and (not row["valid_to"] or at < datetime.fromisoformat(row["valid_to"]))
    }


def is_setting(role: str | None) -> bool:
    found = role_named(role) if role else None
    return found is None or not found.volatile


def test_at_the_moment_of_every_snapshot_the_table_has_exactly_what_the_snapshot_has(
    plant: Vault, tmp_path: Path
) -> None:
    rows = rows_of(write_table(plant, tmp_path / "tables").path)
    for snapshot in every_snapshot(plant):
        state = State(snapshot.id, plant, snapshot.address, snapshot)
        shown = parameter_set_document(state, shown_parameters(state))["parameters"]
        assert held(rows, str(snapshot.address), snapshot.record.taken_at) == {
            each["code"]: (
                each["value"],
                each["unit"] or "",
                each["label"] or "",
                each["role"] or "",
            )
            for each in shown
            if is_setting(each["role"])
        }, snapshot.id


def test_sizes_are_those_that_show_tells_at_every_snapshot(plant: Vault, tmp_path: Path) -> None:
    rows = rows_of(write_table(plant, tmp_path / "tables").path)
    sizes = {
        (f"{row['machine']}/{row['axis']}", row["code"], row["valid_from"]): row for row in rows
    }
    compared = 0
    for snapshot in every_snapshot(plant):
        state = State(snapshot.id, plant, snapshot.address, snapshot)
        moment = snapshot.record.taken_at.isoformat()
        for each in parameter_set_document(state, shown_parameters(state))["parameters"]:
            row = sizes.get((str(snapshot.address), each["code"], moment))
            if row is None:
                continue
            physical = each["physical"]
            assert (row["si_unit"] or None) == (physical and physical["unit"])
            if physical is not None:
                assert float(row["si_value"]) == pytest.approx(float(Decimal(physical["value"])))
                compared += 1
    assert compared > 1000


def test_a_row_ends_where_an_unchanged_number_comes_to_mean_something_else(
    plant: Vault, tmp_path: Path
) -> None:
    rows = rows_of(write_table(plant, tmp_path / "tables").path)
    warnings = [
        row for row in rows
        if row["axis"] == "lift" and row["machine"] == "glaze-line-1"
        and row["role"] == "following_error_warning"
    ]  # fmt: skip
    values = [(row["value"], row["unit"]) for row in warnings]
    sizes = [float(row["si_value"]) for row in warnings]
    assert len(set(values[-3:])) == 1, "the number stayed"
    assert sizes[-3:] == pytest.approx([0.003, 0.003 / 16, 0.003]), "counted by another encoder"
    assert warnings[-2]["valid_to"] == warnings[-1]["valid_from"]
    assert warnings[-1]["valid_to"] == ""


def test_what_an_export_does_not_have_ends_and_begins_again(
    take: Take, vault: Vault, tmp_path: Path
) -> None:
    text = "Drive;HZ-04;;\nCode;Name;Value;Unit\nlim/lag;Following error window;2,5;mm\n"
    both = text + "mov/speed;Profile velocity;100;mm/s\n"
    for day, content in ((1, both), (2, text), (3, both)):
        take(content, f"2026-03-0{day}T08:00:00+00:00", override_reason="tried")
    rows = rows_of(write_table(vault, tmp_path / "tables").path)
    speeds = [row for row in rows if row["code"] == "mov/speed"]
    assert [(row["valid_from"][:10], row["valid_to"][:10]) for row in speeds] == [
        ("2026-03-01", "2026-03-02"),
        ("2026-03-03", ""),
    ]
    lags = [row for row in rows if row["code"] == "lim/lag"]
    assert [row["valid_to"] for row in lags] == [""], "unchanged, however often it was seen"


def test_parquet_has_what_csv_has(plant: Vault, tmp_path: Path) -> None:
    text = rows_of(write_table(plant, tmp_path / "tables").path)
    written = write_table(plant, tmp_path / "tables", "parquet")
    with duckdb.connect() as engine:
        engine.execute("SET TimeZone = 'UTC'")
        table = engine.sql(
            f"SELECT * FROM read_parquet('{written.path}', hive_partitioning = false)"
        )
        assert dict(zip(table.columns, map(str, table.types), strict=True)) == {
            name: kind.replace("TIMESTAMPTZ", "TIMESTAMP WITH TIME ZONE")
            for name, kind in COLUMNS.items()
        }
        found = table.fetchall()
    assert len(found) == len(text) == written.rows > 2000
    for values, row in zip(found, text, strict=True):
        for name, value in zip(COLUMNS, values, strict=True):
            if name.startswith("valid"):
                assert value == (datetime.fromisoformat(row[name]) if row[name] else None)
            elif name == "si_value":
                assert value == (float(row[name]) if row[name] else None)
            else:
                assert (value or "") == row[name]


def test_the_question_that_the_readme_asks_two_plants_is_answered(
    works: Path, take: Take, vault: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    [question] = re.findall(r"```sql\n(.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)
    assert question in (ROOT / "vault/manual/tables.md").read_text()
    take(
        "Drive;HZ-04;;\nCode;Name;Value;Unit\nlim/lag;Following error window;250;mm\n",
        override_reason="tried",
    )
    shutil.copytree(works, tmp_path / "works")
    with Vault.open(tmp_path / "works") as plant:
        write_table(plant, tmp_path / "tables", "parquet")
    write_table(vault, tmp_path / "tables", "parquet")
    monkeypatch.chdir(tmp_path)
    found = duckdb.sql(question).fetchall()
    assert found[0][:3] == ("Tile works (invented)", "m1", "lift")
    assert {site for site, *_ in found} == {
        "Tile works (invented)",
        "Tile works (invented example)",
    }


def test_a_table_of_before_is_replaced_and_nothing_else_is_left(
    plant: Vault, tmp_path: Path
) -> None:
    first = write_table(plant, tmp_path / "tables")
    first.path.write_text("of yesterday")
    again = write_table(plant, tmp_path / "tables")
    assert again.path == first.path == tmp_path / "tables" / SITE / "values.csv"
    assert len(rows_of(again.path)) == again.rows
    assert [each.name for each in again.path.parent.iterdir()] == ["values.csv"]


def test_without_duckdb_parquet_is_refused_and_csv_is_written(
    vault: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "duckdb", None)
    with pytest.raises(WrongUsage, match="DuckDB, which is not installed here") as refused:
        write_table(vault, tmp_path / "tables", "parquet")
    assert "axisvault[tables]" in (refused.value.hint or "")
    assert not (tmp_path / "tables").exists()
    assert write_table(vault, tmp_path / "tables").rows == 0


def test_a_folder_that_cannot_be_written_is_named(vault: Vault, tmp_path: Path) -> None:
    (tmp_path / "tables").write_text("a file")
    with pytest.raises(Unavailable, match=r"tables/site=.* cannot be written"):
        write_table(vault, tmp_path / "tables")
