"""Commands about notes: add one, list them."""

from __future__ import annotations

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, secho
from vault.model.written_form import minute_text


@click.group()
def note() -> None:
    """Notes that people add afterwards, about an axis or about one snapshot of it."""


@note.command(
    epilog='Example: axisvault note add kiln-loader/hoist@3f2a9c1 "Laptop clock was off"'
    " --taken-at 2023-01-24"
)
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@click.argument("text")
@click.option(
    "--taken-at", metavar="TIME",
    help="When that snapshot was really taken: order and latest follow it. Its record stays.",
)  # fmt: skip
@by_option
@json_option
@click.pass_context
def add(
    ctx: click.Context, selector: str, text: str, taken_at: str | None, by: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Add TEXT to what is known of an axis, or of the snapshot that @WHEN names.

    Notes are only ever added: what was recorded stays as it is.
    """
    from vault.jobs.records.notes import add_note

    with open_vault(ctx) as vault:
        added = add_note(vault, selector, text, person(by), taken_at)
    for warning in added.warnings:
        echo(f"axisvault: note: {warning}", err=True)
    if as_json:
        from vault.jobs.records.documents import note_added_document

        print_json(note_added_document(added))
    elif (before := added.taken_at_before) and (put_right := added.entry.taken_at):
        echo(
            f"{added.address}: snapshot {(added.entry.snapshot or '')[:10]} was taken"
            f" {minute_text(put_right)}, not {minute_text(before)}."
        )
    else:
        echo(f"{added.address}: noted.")


@note.command("list", epilog="Example: axisvault note list kiln-loader/hoist")
@click.argument("address", metavar="MACHINE/AXIS")
@json_option
@click.pass_context
def list_(ctx: click.Context, address: str, as_json: bool) -> None:
    """List the notes of an axis, oldest first."""

    with open_vault(ctx) as vault:
        place = vault.require_axis(vault.address(address))
        notes = vault.corrections(place)
    if as_json:
        from vault.jobs.records.documents import notes_document

        print_json(notes_document(str(place), notes))
        return
    from vault.cli.printing_tables import print_wrapped

    for entry in notes:
        secho(f"{minute_text(entry.at)}, {entry.title}, by {entry.by}", bold=True)
        print_wrapped(entry.text)
    if not notes:
        echo("There are no notes.")
