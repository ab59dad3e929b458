"""Commands that take exports in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo
from vault.model.errors import VaultError


@contextmanager
def problems_shown(everything: bool) -> Iterator[None]:
    """Show every problem that an error knows of, a line each, before it is told as usual."""
    try:
        yield
    except VaultError as error:
        for problem in error.problems if everything else ():
            place = f"line {problem.line}: " if problem.line else ""
            echo(f"{place}{problem.reason}: {problem.text}", err=True)
        raise


@click.command(
    epilog="Example: axisvault ingest lift.dcf --to glaze-line-1/lift --occasion as-left"
    " --work-order WO-1182"
)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--to", "address", required=True, metavar="MACHINE/AXIS", help="Where it belongs.")
@click.option(
    "--side", metavar="SIDE",
    help="Whose set it is: drive or controller; default: what the address says, else drive.",
)  # fmt: skip
@click.option("--family", metavar="NAME", help="Its family, where that cannot be told.")
@click.option(
    "--occasion", default="routine", show_default=True,
    help="commissioning, routine, as-found, as-left or after-fault.",
)  # fmt: skip
@click.option(
    "--taken-at", metavar="TIME",
    help="When it was taken: a time, now, or file for what the file proposes; default: what the "
    "export says, else now.",
)  # fmt: skip
@by_option
@click.option("--work-order", metavar="ID", help="The work order it belongs to.")
@click.option("--note", metavar="TEXT", help="What a reader should know.")
@click.option("--channel", metavar="N", help="Which axis of an export of several.")
@click.option("--node-id", metavar="N", help="What values that refer to the node id are of.")
@click.option("--all", "everything", is_flag=True, help="Show every problem of the file.")
@click.option("--partial", is_flag=True, help="Leave out what cannot be read, and record that.")
@click.option(
    "--even-so", "override_reason", metavar="REASON", help="Take it in although a guard objects."
)
@json_option
@click.pass_context
def ingest(
    ctx: click.Context,
    file: Path,
    address: str,
    side: str | None,
    family: str | None,
    occasion: str,
    taken_at: str | None,
    by: str | None,
    work_order: str | None,
    note: str | None,
    channel: str | None,
    node_id: str | None,
    everything: bool,
    partial: bool,
    override_reason: str | None,
    as_json: bool,
) -> None:
    """Take the export FILE in, as a snapshot of MACHINE/AXIS.

    MACHINE/AXIS:controller is the set of the controller's side of that axis.
    """
    from vault.cli.printing import print_ingested
    from vault.jobs.intake.ingest import ingest as job
    from vault.jobs.intake.planned import file_date
    from vault.jobs.intake.side import on_side
    from vault.jobs.intake.visit import parse_visit

    with open_vault(ctx) as vault, problems_shown(everything):
        visit = parse_visit(
            person(by), occasion, taken_at, work_order, note,
            family=family, channel=channel, partial=partial, override_reason=override_reason,
            node_id=node_id,
        )  # fmt: skip
        visit = replace(visit, file_time=file_date(file))
        ingested = job(vault, file, on_side(vault.address(address), side), visit)
    for warning in ingested.warnings:
        echo(f"axisvault: note: {warning}", err=True)
    if as_json:
        from vault.jobs.intake.documents import ingest_document

        print_json(ingest_document(ingested))
    else:
        print_ingested(ingested)


@click.command(epilog="Example: axisvault ingest-tree exports --manifest exports/manifest.csv")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--manifest", type=click.Path(path_type=Path), metavar="CSV",
    help="What each file is; default DIR/manifest.csv, else the folders machine/axis tell.",
)  # fmt: skip
@by_option
@json_option
@click.pass_context
def ingest_tree(
    ctx: click.Context, folder: Path, manifest: Path | None, by: str | None, as_json: bool
) -> int:
    """Take many exports in, in the order they were taken.

    Columns of the manifest: file, machine, axis, family, taken_at, occasion, by, work_order, note,
    channel, node_id, side (drive or controller). Where nobody says when one was taken, it goes by
    its head or its date. A file that cannot be taken in is reported and does not hold up the
    others; what the vault has already is left out, so the same tree can be taken in again.
    """
    from vault.cli.printing import print_tree
    from vault.jobs.intake.ingest_tree import ingest_tree as job

    with open_vault(ctx) as vault, progress("Taking exports in") as update:
        taken = job(vault, folder, person(by), manifest, update)
    for warning in taken.warnings:
        echo(f"axisvault: note: {warning}", err=True)
    for failure in taken.failures:
        echo(f"axisvault: {failure}", err=True)
    if as_json:
        from vault.jobs.intake.documents import ingest_tree_document

        print_json(ingest_tree_document(taken))
    else:
        print_tree(taken)
    return max((failure.exit_code for failure in taken.failures), default=0)
