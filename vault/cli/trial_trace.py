"""`trial trace`: the recording of a move, what it tells, and what became of the axis."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person, units_option
from vault.cli.printing_json import print_json


@click.command(epilog="Example: axisvault trial trace glaze-line-1/lift lift.csv --move 'up, down'")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--move", metavar="NAME", help="Name of the move, so that later ones are held to it.")
@click.option("--taken-at", metavar="TIME", help="When it was recorded; default: now.")
@by_option
@units_option
@json_option
@click.pass_context
def trace(
    ctx: click.Context,
    address: str,
    file: Path,
    move: str | None,
    taken_at: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Keep the recording of a move in FILE, and say what it tells.

    FILE is a table of time, position, speed, torque: text or a workbook. It is held against set and
    record, and against an earlier trace of the same move.
    """
    from vault.cli.printing_traces import print_trace
    from vault.jobs.trials.trace import add_trace_file

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        found = add_trace_file(vault, place, file, person(by), move, taken_at)
        if as_json:
            from vault.jobs.trials.trace_documents import trace_document

            print_json(trace_document(found))
        else:
            print_trace(found)
