"""Writing the table of values into a folder: CSV by the standard library, Parquet by DuckDB.

The folder is divided by site, `site=NAME/values.csv`, as engines expect that read many such tables
as one. Numbers are exact text in `value`; `si_value` is a number to reckon with.
"""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from urllib.parse import quote

from vault.jobs.state.document_parts import exact_text
from vault.jobs.tables.value_periods import ValuePeriod, value_periods
from vault.model.errors import Unavailable, WrongUsage
from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.store.vault import Vault

TableFormat = Literal["csv", "parquet"]
Progress = Callable[[int, int], None]

COLUMNS = {
    "site": "VARCHAR",
    "machine": "VARCHAR",
    "axis": "VARCHAR",
    "family": "VARCHAR",
    "code": "VARCHAR",
    "name": "VARCHAR",
    "role": "VARCHAR",
    "value": "VARCHAR",
    "unit": "VARCHAR",
    "label": "VARCHAR",
    "si_value": "DOUBLE",
    "si_unit": "VARCHAR",
    "valid_from": "TIMESTAMPTZ",
    "valid_to": "TIMESTAMPTZ",
    "snapshot": "VARCHAR",
    "side": "VARCHAR",
}
"""Columns, and what they are in Parquet. What there is not is empty."""


@dataclass(frozen=True, slots=True)
class WrittenTable:
    """A table that was written."""

    path: Path
    format: TableFormat
    rows: int
    axes: int


def write_table(
    vault: Vault,
    folder: Path,
    format_: TableFormat = "csv",
    *,
    progress: Progress = lambda done, total: None,
) -> WrittenTable:
    """Write every value of the vault over time into a folder; a table of before is replaced.

    Raises WrongUsage where Parquet cannot be written here, Unavailable where the folder cannot.
    """
    if format_ == "parquet":
        _require_duckdb()
    site = vault.site_record.site
    path = folder / f"site={quote(site, safe=' ')}" / f"values.{format_}"
    axes, count = [vault.names.named(one) for one in vault.index.axes()], 0
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".values-", dir=path.parent) as aside:
            made = Path(aside) / "values.csv"
            with made.open("w", encoding="utf-8", newline="") as file:
                writer = csv.writer(file, lineterminator="\n")
                writer.writerow(COLUMNS)
                for done, address in enumerate(axes, 1):
                    for period in value_periods(vault, address):
                        writer.writerow(_cells(site, period))
                        count += 1
                    progress(done, len(axes))
            if format_ == "parquet":
                made = _as_parquet(made)
            made.replace(path)
    except OSError as error:
        raise Unavailable(
            f"{path} cannot be written: {error.strerror}",
            hint="name another folder with --out",
        ) from error
    return WrittenTable(path, format_, count, len({address.drive for address in axes}))


def _cells(site: str, period: ValuePeriod) -> Iterator[str]:
    parameter, size = period.parameter, period.size
    yield from (site, *period.address.shown, period.family or "")
    yield from (parameter.code, parameter.name, parameter.role or "")
    yield from (exact_text(parameter.value), parameter.unit or "", parameter.label or "")
    yield from ("", "") if size is None else (repr(float(size.number())), size.unit)
    yield time_text(period.valid_from)
    yield "" if period.valid_to is None else time_text(period.valid_to)
    yield from (period.snapshot, period.address.side)


def _require_duckdb() -> None:
    try:
        import duckdb  # noqa: F401
    except ImportError as error:
        raise WrongUsage(
            "Parquet is written by DuckDB, which is not installed here",
            hint="pip install 'axisvault[tables]', or --format csv",
        ) from error


def _as_parquet(source: Path) -> Path:
    import duckdb

    made = source.with_suffix(".parquet")
    with duckdb.connect() as engine:
        engine.execute("SET TimeZone = 'UTC'")
        table = engine.read_csv(
            str(source), header=True, columns=COLUMNS, null_padding=False, quotechar='"',
            escapechar='"', delimiter=",", na_values="",
        )  # fmt: skip
        table.write_parquet(str(made), compression="zstd")
    return made
