"""Commands about machines: their records, their names, whether they are in use."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_failures import every_problem, print_failures
from vault.cli.printing_json import print_json
from vault.cli.printing_standing import print_renamed, print_retired, undo_option
from vault.cli.terminal import echo, echo_file
from vault.model.written_form import day_text

if TYPE_CHECKING:
    from vault.model.errors import VaultError


@click.group()
def machine() -> None:
    """Machines: title, tags, twin, what each is called, whether it is in use."""


@machine.command("set", epilog="Example: axisvault machine set glaze-line-2 machine.yaml")
@click.argument("name", metavar="MACHINE")
@click.argument("file", type=click.Path(path_type=Path))
@by_option
@json_option
@click.pass_context
def set_(ctx: click.Context, name: str, file: Path, by: str | None, as_json: bool) -> None:
    """Check the machine record in FILE and put it into the vault.

    Its keys: schema (axisvault/machine/1), title, location, note, tags, twin (a machine that is
    built alike), pairs (axes of both that go together though they are called otherwise).
    """
    from vault.jobs.records.edit import file_content
    from vault.jobs.records.machines import set_machine

    with open_vault(ctx) as vault, every_problem():
        added = set_machine(vault, name, file_content(file), str(file), person(by))
    for remark in added.remarks:
        echo(f"axisvault: note: {remark}", err=True)
    if as_json:
        from vault.jobs.records.machine_documents import machine_added_document

        print_json(machine_added_document(added))
    else:
        state = "was there already" if added.unchanged else "is in the vault"
        echo(f"The record of {added.name} {state}.")


@machine.command(epilog="Example: axisvault machine show glaze-line-2")
@click.argument("name", metavar="MACHINE")
@json_option
@click.pass_context
def show(ctx: click.Context, name: str, as_json: bool) -> None:
    """Show what is recorded about a machine, its axes and its twin."""
    from vault.jobs.records.machines import machine_summary

    with open_vault(ctx) as vault:
        summary = machine_summary(vault, name)
    if as_json:
        from vault.jobs.records.machine_documents import machine_document

        print_json(machine_document(summary))
        return
    if summary.text:
        echo_file(summary.text)
    before = f" (was {', '.join(summary.names[1:])})" if summary.names[1:] else ""
    echo(f"{summary.name}{before}: {', '.join(map(str, summary.axes)) or 'no axes yet'}")
    if summary.retired is not None:
        echo(f"Retired since {day_text(summary.retired.at)}: {summary.retired.text}")
    if summary.twin is not None:
        echo(f"Its twin is {summary.twin}.")
        for one, other in summary.pairs:
            echo(f"  {one}  {other}")


@machine.command("list", epilog="Example: axisvault machine list")
@json_option
@click.pass_context
def list_(ctx: click.Context, as_json: bool) -> int:
    """List all machines, retired ones last."""
    from vault.cli.printing_tables import print_table
    from vault.jobs.records.machines import machine_summaries

    failures: list[VaultError] = []
    with open_vault(ctx) as vault:
        summaries = machine_summaries(vault, failures.append)
    code = print_failures(failures)
    if as_json:
        from vault.jobs.records.machine_documents import machines_document

        print_json(machines_document(summaries, failures))
        return code
    rows = [
        [
            one.name, one.title, str(len(one.axes)), one.twin or "-",
            ", ".join(one.record.tags) if one.record else "",
            f"retired {day_text(one.retired.at)}" if one.retired is not None else "",
        ]
        for one in summaries
    ]  # fmt: skip
    print_table(["machine", "title", "axes", "twin", "tags", ""], rows)
    return code


@machine.command(epilog="Example: axisvault machine rename kiln-loader kiln-33")
@click.argument("name", metavar="MACHINE")
@click.argument("new", metavar="NEW")
@click.option("--reason", metavar="TEXT", help="Why.")
@by_option
@json_option
@click.pass_context
def rename(
    ctx: click.Context, name: str, new: str, reason: str | None, by: str | None, as_json: bool
) -> None:
    """Call a machine NEW. Its history stays, and both names lead to it."""
    from vault.jobs.records.rename import rename_machine

    with open_vault(ctx) as vault:
        print_renamed(rename_machine(vault, name, new, person(by), reason), as_json=as_json)


@machine.command(epilog='Example: axisvault machine retire kiln-loader --reason "line 1 is sold"')
@click.argument("name", metavar="MACHINE")
@click.option("--reason", metavar="TEXT", help="Why.")
@undo_option
@by_option
@json_option
@click.pass_context
def retire(
    ctx: click.Context, name: str, reason: str | None, undo: bool, by: str | None, as_json: bool
) -> None:
    """Take a machine with its axes out of use. Its history stays.

    It is never overdue then and raises no alert; an export of it needs a reason.
    """
    from vault.jobs.records.retire import reinstate_machine, retire_machine

    job = reinstate_machine if undo else retire_machine
    with open_vault(ctx) as vault:
        print_retired(job(vault, name, person(by), reason), as_json=as_json)
