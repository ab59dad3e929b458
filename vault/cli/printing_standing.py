"""What became of a name, and of retirement: of axes and machines alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from vault.cli.printing_json import print_json
from vault.cli.terminal import echo

if TYPE_CHECKING:
    from vault.jobs.records.rename import Renamed
    from vault.jobs.records.retire import Retired

undo_option = click.option("--undo", is_flag=True, help="Put it back in use.")


def print_renamed(renamed: Renamed, *, as_json: bool) -> None:
    """What it is called now."""
    if as_json:
        from vault.jobs.records.machine_documents import renamed_document

        print_json(renamed_document(renamed))
    elif renamed.unchanged:
        echo(f"{renamed.name} is called so already.")
    else:
        echo(f"{renamed.before} is called {renamed.name} from now on; both names lead to it.")


def print_retired(outcome: Retired, *, as_json: bool) -> None:
    """Whether it is in use now."""
    for warning in outcome.warnings:
        echo(f"axisvault: note: {warning}", err=True)
    if as_json:
        from vault.jobs.records.machine_documents import retired_document

        print_json(retired_document(outcome))
    elif outcome.retired:
        echo(f"{outcome.name} is retired. Its history stays; back in use: --undo.")
    else:
        echo(f"{outcome.name} is in use again.")
