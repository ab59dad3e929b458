"""Commands about a vault as a whole: create, demo, verify, reindex."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault, vault_folder
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo


@click.command(epilog="Example: axisvault create plant --site 'Tile works, hall 2'")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--site", metavar="NAME", help="Name of the site.")
@click.option("--copy", "other", metavar="OTHER", help="Copy this vault, bundle, or git address.")
@by_option
@json_option
def create(
    folder: Path, site: str | None, other: str | None, by: str | None, as_json: bool
) -> None:
    """Make a new vault in DIR, for the site NAME or as a copy that `sync` keeps in step."""
    from vault.model.wording import plural
    from vault.store.vault import Vault

    if (site is None) == (other is None):
        raise click.UsageError("give --site NAME for a new vault, or --copy OTHER")
    if other is not None:
        with Vault.copy(folder, other) as vault:
            name, count = vault.site, vault.index.count()
    else:
        name = site or ""
        Vault.create(folder, name, person(by)).close()
    if as_json:
        from vault.cli.vault_documents import created_document

        print_json(created_document(folder, name))
    elif other is not None:
        echo(f"Copied the vault of {name} to {folder}, with {plural(count, 'snapshot')}.")
        echo(f"Next: axisvault --vault {folder} verify")
    else:
        echo(f"Made a vault for {name} in {folder}.")
        echo(f"Next: axisvault --vault {folder} ingest EXPORT --to machine/axis")


@click.command(epilog="Example: axisvault demo tile-works")
@click.argument(
    "folder", metavar="[DIR]", default="axisvault-demo", type=click.Path(path_type=Path)
)
@json_option
def demo(folder: Path, as_json: bool) -> None:
    """Build the example vault in DIR (axisvault-demo) and show what it is for."""
    from time import monotonic

    from vault.cli.demo import demo_text
    from vault.jobs.demo.controllers import add_controllers
    from vault.jobs.demo.demo import build_demo
    from vault.jobs.demo.lived_in import add_acts
    from vault.jobs.demo.unknown_drive import add_unknown_drive

    began = monotonic()
    with progress("Building the example vault") as update:
        build_demo(folder, update)
        unknown = add_unknown_drive(folder, update)
        built = add_controllers(folder, update)
        acts = add_acts(folder)
    if as_json:
        from vault.jobs.demo.documents import demo_document

        print_json(demo_document(folder, built, acts))
    else:
        demo_text(folder, unknown, acts, monotonic() - began)


@click.command(epilog="Example: axisvault verify --against /media/auditor/witness.jsonl")
@click.option(
    "--against", type=click.Path(path_type=Path), metavar="FILE",
    help="A copy of the witness kept elsewhere, or a tip that was written down.",
)  # fmt: skip
@click.option("--new", "only_new", is_flag=True, help="Only what is new since all was well.")
@json_option
@click.pass_context
def verify(ctx: click.Context, against: Path | None, only_new: bool, as_json: bool) -> int:
    """Check git's objects, every export, dictionary, value and link, and the whole history.

    The witness (axisvault/witness.jsonl in the vault) remembers every state the history ever had.
    Keep a copy of it, or the line that this command prints, where nobody can change it.
    """
    from vault.jobs.verify.incremental import verify_and_remember
    from vault.jobs.verify.restoring import restoring, verified_unopened
    from vault.model.errors import Damaged
    from vault.model.wording import plural

    try:
        with open_vault(ctx) as vault, progress("Verifying") as update:
            outcome = verify_and_remember(vault, update, only_new=only_new, against=against)
    except Damaged as error:  # it cannot even be opened
        outcome = verified_unopened(vault_folder(ctx), error)
    if not outcome.ok:
        outcome.remarks += restoring(vault_folder(ctx), outcome)
    if as_json:
        from vault.jobs.verify.documents import verification_document

        print_json(verification_document(outcome))
    else:
        for problem in outcome.problems:
            echo(f"{problem.kind}: {problem.where}: {problem.details}")
        for remark in outcome.remarks:
            echo(remark)
        if (first := outcome.first_untrusted) is not None:
            whose = f"{first.axis}, {first.taken_at}" if first.axis else "unknown"
            echo(f"First that cannot be trusted: {whose}.")
        if outcome.witness is not None and outcome.witness.head is not None:
            lines = plural(len(outcome.witness.lines), "line")
            echo(f"Tip {outcome.tip or 'unknown'}")
            echo(f"Witness of {lines}, {outcome.witness.head}")
        count = plural(outcome.snapshots, "snapshot")
        echo(f"{count}: everything is as it was recorded." if outcome.ok else f"{count} seen.")
    if not outcome.ok:
        echo(f"axisvault: {plural(len(outcome.problems), 'problem')} found", err=True)
    return 0 if outcome.ok else Damaged.exit_code


@click.command(epilog="Example: axisvault reindex")
@json_option
@click.pass_context
def reindex(ctx: click.Context, as_json: bool) -> None:
    """Rebuild the index from git, and pack the vault."""
    from vault.model.wording import plural

    with open_vault(ctx) as vault:
        count = vault.reindex()
    if as_json:
        from vault.cli.vault_documents import reindexed_document

        print_json(reindexed_document(count))
    else:
        echo(f"The index shows {plural(count, 'snapshot')}.")
