"""Commands about what people write: site and axis records."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_failures import every_problem, print_failures
from vault.cli.printing_json import print_json
from vault.cli.printing_standing import print_renamed, print_retired, undo_option
from vault.cli.terminal import echo, echo_file
from vault.model.written_form import day_text

if TYPE_CHECKING:
    from vault.model.errors import VaultError
    from vault.store.vault import Vault

_FILE = click.Path(path_type=Path)


@click.group()
def site() -> None:
    """The site: its name, approval policy, export interval, alerts."""


@site.command("set", epilog="Example: axisvault site set vault.yaml")
@click.argument("file", type=_FILE)
@by_option
@json_option
@click.pass_context
def set_site(ctx: click.Context, file: Path, by: str | None, as_json: bool) -> None:
    """Check the vault.yaml in FILE and put it into the vault."""
    from vault.jobs.records.edit import set_site as job

    with open_vault(ctx) as vault, every_problem():
        added = job(vault, file, person(by))
    if as_json:
        from vault.jobs.records.documents import record_added_document

        print_json(record_added_document(added))
    else:
        echo(f"vault.yaml {'was there already' if added.unchanged else 'is in the vault'}.")


@site.command("signers", epilog="Example: axisvault site signers allowed_signers")
@click.argument("file", type=_FILE)
@by_option
@json_option
@click.pass_context
def set_signers(ctx: click.Context, file: Path, by: str | None, as_json: bool) -> None:
    """Put the keys in FILE into the vault that commits may be signed with.

    FILE has a line per key as OpenSSH's allowed signers: who, kind, key. Commits are signed with
    the key that $AXISVAULT_SIGNING_KEY names. With `signing: {required: true}` in vault.yaml verify
    asks for a signature on every commit from then on, by a key that was allowed before it.
    """
    from vault.jobs.records.edit import set_signers as job

    with open_vault(ctx) as vault:
        added = job(vault, file, person(by))
    if as_json:
        from vault.jobs.records.documents import record_added_document

        print_json(record_added_document(added))
    else:
        state = "were there already" if added.unchanged else "are in the vault"
        echo(f"The allowed signers {state}.")


@site.command("show", epilog="Example: axisvault site show > vault.yaml")
@json_option
@click.pass_context
def show_site(ctx: click.Context, as_json: bool) -> None:
    """Show the vault.yaml of the vault."""
    from vault.store.files import layout

    with open_vault(ctx) as vault:
        record, content = vault.site_record, vault.read(layout.VAULT) or b""
    if as_json:
        from vault.jobs.records.documents import site_document

        print_json(site_document(record))
    else:
        echo_file(content.decode("utf-8-sig"))


@click.group()
def axis() -> None:
    """Axes as built: mechanics, nameplate, cabinet settings, controller link."""


@axis.command("set", epilog="Example: axisvault axis set glaze-line-1/lift lift.yaml")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("file", type=_FILE)
@by_option
@json_option
@click.pass_context
def set_(ctx: click.Context, address: str, file: Path, by: str | None, as_json: bool) -> None:
    """Check the axis record in FILE and put it into the vault."""
    from vault.cli.printing import print_surroundings
    from vault.jobs.records.edit import set_axis

    with open_vault(ctx) as vault, every_problem():
        place = vault.address(address)
        added = set_axis(vault, place, file, person(by))
    for remark in added.remarks:
        echo(f"axisvault: note: {remark}", err=True)
    if as_json:
        from vault.jobs.records.documents import axis_added_document

        print_json(axis_added_document(str(place), added))
    else:
        state = "was there already" if added.unchanged else "is in the vault"
        same = " Nothing that it says changed." if added.is_reworded else ""
        echo(f"The record of {place} {state}.{same}")
        print_surroundings(added.changes)


@axis.command(epilog="Example: axisvault axis template glaze-line-1/lift --out lift.yaml")
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--out", type=_FILE, metavar="FILE", help="Write it into a new file.")
@json_option
@click.pass_context
def template(ctx: click.Context, address: str, out: Path | None, as_json: bool) -> None:
    """Write a form for the axis record, to be filled in and given to `axis set`.

    What is recorded, or told by the latest export, is filled in.
    """
    from vault.cli.new_file import write_new
    from vault.jobs.records.axis_template import axis_template

    with open_vault(ctx) as vault:
        place = vault.address(address)
        form = axis_template(vault, place)
    if out is not None:
        write_new(out, form)
    if as_json:
        from vault.jobs.records.documents import axis_template_document

        print_json(axis_template_document(str(place), out, form))
    elif out is None:
        echo_file(form.decode("utf-8"))
    else:
        echo(f"Fill in {out}, then: axisvault axis set {place} {out}")


@axis.command("show", epilog="Example: axisvault axis show glaze-line-1/lift")
@click.argument("address", metavar="MACHINE/AXIS")
@json_option
@click.pass_context
def show_axis(ctx: click.Context, address: str, as_json: bool) -> None:
    """Show what is recorded about an axis as built."""
    from vault.jobs.records.edit import axis_summary

    with open_vault(ctx) as vault:
        summary = axis_summary(vault, vault.address(address))
        place = summary.address
    if as_json:
        from vault.jobs.records.documents import axis_document

        print_json(axis_document(summary))
    elif summary.text:
        echo_file(summary.text)
        for remark in summary.remarks:
            echo(f"axisvault: note: {remark}", err=True)
    else:
        echo(f"Nothing is recorded about {place} as built: axisvault axis set {place} FILE")


@axis.command("list", epilog="Example: axisvault axis list")
@json_option
@click.pass_context
def list_axes(ctx: click.Context, as_json: bool) -> int:
    """List all axes, with their latest snapshot."""
    from vault.cli.printing_tables import print_table
    from vault.jobs.records.edit import axis_summaries

    failures: list[VaultError] = []
    with open_vault(ctx) as vault:
        summaries = axis_summaries(vault, failures.append)
    code = print_failures(failures)
    if as_json:
        from vault.jobs.records.documents import axes_document

        print_json(axes_document(summaries, failures))
        return code
    rows = []
    for summary in summaries:
        last = summary.latest.record if summary.latest else None
        day = day_text(last.taken_at) if last else "-"
        family = last.family or "-" if last else "-"
        out = f"retired {day_text(summary.retired.at)}" if summary.retired is not None else ""
        rows.append([str(summary.address), summary.title, family, str(summary.snapshots), day, out])
    columns = ["axis", "title", "family", "snapshots", "latest", ""]
    if not any(row[-1] for row in rows):
        columns, rows = columns[:-1], [row[:-1] for row in rows]
    print_table(columns, rows)
    return code


@axis.command(epilog="Example: axisvault axis rename glaze-line-1/lift hoist")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("new", metavar="NEW")
@click.option("--reason", metavar="TEXT", help="Why.")
@by_option
@json_option
@click.pass_context
def rename(
    ctx: click.Context, address: str, new: str, reason: str | None, by: str | None, as_json: bool
) -> None:
    """Call an axis NEW on its machine. Its history stays, and both names lead to it."""
    from vault.jobs.records.rename import rename_axis

    with open_vault(ctx) as vault:
        renamed = rename_axis(vault, vault.address(address), new, person(by), reason)
    print_renamed(renamed, as_json=as_json)


@axis.command(epilog='Example: axisvault axis retire glaze-line-1/lift --reason "scrapped"')
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--reason", metavar="TEXT", help="Why.")
@undo_option
@by_option
@json_option
@click.pass_context
def retire(
    ctx: click.Context, address: str, reason: str | None, undo: bool, by: str | None, as_json: bool
) -> None:
    """Take an axis out of use. Its history stays.

    It is never overdue then and raises no alert; an export of it needs a reason.
    """
    from vault.jobs.records.retire import reinstate_axis, retire_axis

    job = reinstate_axis if undo else retire_axis
    with open_vault(ctx) as vault:
        outcome = job(vault, vault.address(address), person(by), reason)
    print_retired(outcome, as_json=as_json)


@axis.command(epilog="Example: axisvault axis interval 'glaze-line-1/*' '30 days'")
@click.argument("pattern", metavar="PATTERN")
@click.argument("every", metavar="EVERY")
@click.option("--only-look", is_flag=True, help="Say what it would come to, and set nothing.")
@by_option
@json_option
@click.pass_context
def interval(
    ctx: click.Context, pattern: str, every: str, only_look: bool, by: str | None, as_json: bool
) -> int:
    """Have an export be due EVERY so often, of one axis or of each that fits a pattern.

    One key of each axis record is written, the rest stays as it is. Those that are refused come
    first, with why; the others go together, a commit each. Leaves with 3 where all were refused.
    """
    from vault.cli.printing_baseline import print_many_intervals
    from vault.jobs.baseline.export_intervals import set_export_every
    from vault.jobs.baseline.many_axes import fitting, is_pattern
    from vault.model.errors import Refused

    with open_vault(ctx) as vault, progress("Looking at axes") as update:
        axes = fitting(vault, pattern) if is_pattern(pattern) else [_one(vault, pattern)]
        found = set_export_every(
            vault, axes, every, person(by), looks_only=only_look, progress=update
        )
    if as_json:
        from vault.jobs.baseline.many_documents import many_intervals_document

        print_json(many_intervals_document(found))
    else:
        print_many_intervals(found)
    return Refused.exit_code if len(found.refused) == len(found.axes) else 0


def _one(vault: Vault, name: str) -> str:
    return str(vault.require_axis(vault.address(name)))
