"""The whole vault as one table: table."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import json_option


@click.command(epilog="Example: axisvault table --out tables --format parquet")
@click.option(
    "--out", "folder", type=click.Path(file_okay=False, path_type=Path), required=True,
    help="The folder for tables; that of the site is made in it.",
)  # fmt: skip
@click.option(
    "--format", "format_", type=click.Choice(["parquet", "csv"]), default="csv", show_default=True,
    help="Parquet takes the extra axisvault[tables].",
)  # fmt: skip
@json_option
@click.pass_context
def table(ctx: click.Context, folder: Path, format_: str, as_json: bool) -> None:
    """Write the settings of all axes over time as one table.

    One row for as long as a value stays the same, on the drive and on the machine: site, machine,
    axis, family, code, name, role, value, unit, label, si_value, si_unit, valid_from, valid_to,
    snapshot. What holds today has no valid_to. A table of the same site that was written before is
    replaced. Live values are no settings and left out.
    """
    from vault.cli.terminal import echo
    from vault.jobs.tables.write_table import write_table
    from vault.model.wording import plural

    with open_vault(ctx) as vault, progress("Writing the table") as update:
        written = write_table(
            vault, folder, "parquet" if format_ == "parquet" else "csv", progress=update
        )
    if as_json:
        from vault.cli.printing_json import print_json
        from vault.jobs.tables.documents import table_document

        print_json(table_document(written))
    else:
        echo(
            f"{written.path}: {plural(written.rows, 'value')} over time"
            f" of {plural(written.axes, 'axis', 'axes')}."
        )
