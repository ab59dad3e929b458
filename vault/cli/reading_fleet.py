"""Commands that read the whole fleet: find."""

from __future__ import annotations

import click

from vault.cli.common import json_option, open_vault, print_json, progress


@click.command(epilog='Example: axisvault find following_error_window --value "> 5 mm"')
@click.argument("text", metavar="TEXT|CODE|ROLE")
@click.option(
    "--value", metavar="CONDITION", help='Only values such as "> 5 mm", "4..6 mm" or a label.'
)
@click.option("--now", "only_now", is_flag=True, help="Only what is there now.")
@json_option
@click.pass_context
def find(ctx: click.Context, text: str, value: str | None, only_now: bool, as_json: bool) -> None:
    """Find which axes have, or had at any time, a setting.

    TEXT is a code, a role, or part of a name or label.
    """
    from vault.cli.printing_tables import print_found
    from vault.jobs.inspect.find import find as job

    with open_vault(ctx) as vault, progress("Reading values") as update:
        occurrences = job(vault, text, value, only_now=only_now, progress=update)
    if as_json:
        from vault.jobs.inspect.documents import find_document

        print_json(find_document(occurrences))
    else:
        print_found(occurrences)
