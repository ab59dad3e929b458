"""Commands about faults: note one, take in a history, list them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo

if TYPE_CHECKING:
    from vault.jobs.faults.log import FaultsAdded
    from vault.model.errors import VaultError

_FILE = click.Path(path_type=Path)


@click.group()
def fault() -> None:
    """Faults of an axis: note them, so that an audit can start from them."""


@fault.command(
    epilog='Example: axisvault fault add kiln-loader/hoist --code F-11 --at "2023-01-24 03:52"'
)
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--code", required=True, help="As the drive shows it, or a standard one (3210h).")
@click.option("--at", "at", metavar="TIME", help="When it tripped; default: now.")
@click.option("--note", metavar="TEXT", help="What people saw.")
@by_option
@json_option
@click.pass_context
def add(
    ctx: click.Context, address: str, code: str, at: str | None, note: str | None, by: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Note one fault of an axis."""
    from vault.jobs.faults.log import add_fault, parse_fault

    with open_vault(ctx) as vault:
        noted = parse_fault(code, person(by), at=at, note=note)
        place = vault.require_whole_axis(vault.address(address))
        _tell(str(place), add_fault(vault, place, noted), as_json)


@fault.command("import", epilog="Example: axisvault fault import kiln-loader/hoist faults.csv")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("file", type=_FILE)
@click.option(
    "--column", "columns", metavar="at=HEADING,code=HEADING,note=HEADING",
    help="Headings of the columns, where they are called otherwise.",
)  # fmt: skip
@click.option("--partial", is_flag=True, help="Leave out lines that cannot be read.")
@by_option
@json_option
@click.pass_context
def import_(
    ctx: click.Context, address: str, file: Path, columns: str | None, partial: bool,
    by: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Take in the fault history in FILE, a CSV with the columns at, code and note.

    Times without an offset are local. Faults that are in the log already are passed over.
    """
    from vault.jobs.faults.log import COLUMNS, import_faults
    from vault.model.errors import WrongUsage

    pairs = [part.partition("=") for part in (columns or "").split(",") if part.strip()]
    named = {key.strip(): heading.strip() for key, _, heading in pairs}
    if wrong := [key for key in named if key not in COLUMNS or not named[key]]:
        raise WrongUsage(f"--column: there is no column {wrong[0]!r}", hint="at, code, note")
    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        added = import_faults(vault, place, file, person(by), columns=named, partial=partial)
        _tell(str(place), added, as_json)


def _tell(address: str, added: FaultsAdded, as_json: bool) -> None:
    from vault.model.wording import plural

    for warning in added.warnings:
        echo(f"axisvault: note: {warning}", err=True)
    for line in added.skipped:
        echo(f"axisvault: left out: line {line.line}: {line.reason}", err=True)
    if as_json:
        from vault.jobs.faults.documents import faults_added_document

        print_json(faults_added_document(address, added))
        return
    known = f"; {plural(added.known, 'was', 'were')} there already" if added.known else ""
    echo(f"{address}: {plural(len(added.added), 'fault')} noted{known}.")


@fault.command("list", epilog="Example: axisvault fault list kiln-loader/hoist")
@click.argument("address", metavar="[MACHINE/AXIS]", required=False)
@click.option("--code", metavar="CODE", help="Of all axes, only the faults of a code.")
@json_option
@click.pass_context
def list_(ctx: click.Context, address: str | None, code: str | None, as_json: bool) -> int:
    """List the faults of an axis, and what may have ended them; else those of all, newest first."""
    if address is None:
        return _list_all(ctx, code, as_json=as_json)
    if code is not None:
        raise click.UsageError("--code is for all axes", ctx)
    from vault.cli.printing_audit import print_faults
    from vault.jobs.audit.repeats import repeats
    from vault.jobs.faults.log import named_faults

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        known = named_faults(vault, place)
        again = repeats(vault, place)
        if as_json:
            from vault.jobs.audit.documents import fault_log_document

            print_json(fault_log_document(str(place), known, again))
        else:
            print_faults(known, again)
    return 0


def _list_all(ctx: click.Context, code: str | None, *, as_json: bool) -> int:
    from vault.cli.printing import print_fault
    from vault.cli.printing_failures import print_failures
    from vault.jobs.faults.of_all_axes import faults_of_all

    failures: list[VaultError] = []
    with open_vault(ctx) as vault:
        found, counts = faults_of_all(vault, code, failures=failures)
    if as_json:
        from vault.jobs.faults.documents import site_faults_document

        print_json(site_faults_document(found, counts))
    else:
        for one in found:
            print_fault(one.entry, one.code, f"{one.axis}  ")
        if not found:
            echo("No fault is noted.")
    return print_failures(failures)
