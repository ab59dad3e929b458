"""Commands about copies of the vault: take from one, give to one, list what was."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, secho
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.sync.incoming import Consent

_OTHER = (
    "OTHER is the folder of another copy, a bundle file as on a stick, or an address that git "
    "knows, as ssh://office.example/srv/plant."
)


@click.group()
def sync() -> None:
    """Keep copies of the vault in step: over git, or with a file on a stick.

    A first copy is made by: axisvault create DIR --copy OTHER
    """


@sync.command(
    help=f"Show what a take from OTHER would bring, and take nothing.\n\n{_OTHER}",
    epilog="Example: axisvault sync look /media/stick/hall-2.bundle",
)
@click.argument("other", metavar="OTHER")
@json_option
@click.pass_context
def look(ctx: click.Context, other: str, as_json: bool) -> None:
    """Show what a take from OTHER would bring."""
    from vault.jobs.sync.sync import look as job
    from vault.model.wording import plural

    with open_vault(ctx) as vault:
        looked = job(vault, other, person(None))
    if as_json:
        from vault.jobs.sync.documents import looked_document

        print_json(looked_document(looked))
        return
    if not looked.snapshots and not looked.changes:
        echo(f"{looked.partner} has nothing that is not here.")
        return
    axes = plural(len(looked.new), "axis", "axes")
    echo(f"{looked.partner} has {plural(looked.snapshots, 'snapshot')} of {axes} more.")
    for axis in sorted(looked.new):
        echo(f"  {axis}")
    for change in looked.changes:
        signed = f", signed by {change.signer}" if change.signer else ""
        echo(f"  {change.path}: {change.kind}, by {change.author or 'nobody'}{signed}")
        if change.needs is not None:
            secho(f"    needs --accept {change.needs}: {change.why}", fg="red")


@sync.command(
    help=f"Take everything that OTHER has and this vault has not.\n\n{_OTHER} All of it is checked "
    "first; where anything is not as it was recorded nothing is taken.",
    epilog="Example: axisvault sync take /media/stick/hall-2.bundle",
)
@click.argument("other", metavar="OTHER")
@click.option(
    "--keep", type=click.Choice(["here", "there"]),
    help="Which one holds of a file that people changed on both sides; with here what needs "
    "consent stays as it is too.",
)  # fmt: skip
@click.option(
    "--accept", "accepted", type=click.Choice(["policy", "golden"]), multiple=True,
    help="Consent: to policy, channels, signers and open reading; to baselines and waivers that "
    "do not hold by the policy here. sync look shows them.",
)  # fmt: skip
@by_option
@json_option
@click.pass_context
def take(
    ctx: click.Context, other: str, keep: str | None, accepted: tuple[Consent, ...],
    by: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Take everything that OTHER has and this vault has not."""
    from vault.jobs.sync.sync import take as job
    from vault.model.wording import plural

    with open_vault(ctx) as vault, progress("Checking") as update:
        taken = job(vault, other, person(by), keep, update, accepted=accepted)
    for warning in taken.warnings:
        echo(f"axisvault: {warning}", err=True)
    if as_json:
        from vault.jobs.sync.documents import taken_document

        print_json(taken_document(taken))
        return
    if taken.is_nothing:
        echo(f"{taken.partner} has nothing that is not here.")
        return
    axes = plural(len(taken.axes), "axis", "axes")
    snapshots = f"{plural(taken.snapshots, 'snapshot')} of {axes}" if taken.axes else "no snapshot"
    records = plural(len(taken.files), "record")
    echo(f"Took {snapshots} and {records} from {taken.partner}.")
    for axis in taken.axes:
        echo(f"  {axis}")
    kept = dict(taken.kept)
    for path in (*taken.files, *(p for p in kept if p not in taken.files)):
        decided = f": changed on both sides, kept as it was {kept[path]}" if path in kept else ""
        echo(f"  {path}{decided}")
    if taken.merge is not None:
        echo(f"Both had gone on; commit {taken.merge[:10]} joins them.")
        echo(f"{taken.partner} gets it by: axisvault sync give {other}")


@sync.command(
    help=f"Give everything to OTHER, which may have nothing that is not here.\n\n{_OTHER} "
    "A bundle is written whole, in place of an older one of the same vault.",
    epilog="Example: axisvault sync give /media/stick/hall-2.bundle",
)
@click.argument("other", metavar="OTHER")
@by_option
@json_option
@click.pass_context
def give(ctx: click.Context, other: str, by: str | None, as_json: bool) -> None:
    """Give everything to OTHER."""
    from vault.jobs.sync.sync import give as job

    with open_vault(ctx) as vault:
        given = job(vault, other, person(by))
    if as_json:
        from vault.jobs.sync.documents import given_document

        print_json(given_document(given))
    elif given.unchanged:
        echo(f"{given.partner} has everything already.")
    else:
        echo(f"{given.partner} has everything now, up to {given.tip[:10]}.")


@sync.command("list", epilog="Example: axisvault sync list")
@json_option
@click.pass_context
def list_(ctx: click.Context, as_json: bool) -> None:
    """List what this copy took from others and gave to them."""
    from vault.jobs.sync.log import sync_events

    with open_vault(ctx) as vault:
        events = sync_events(vault.state)
    if as_json:
        from vault.jobs.sync.documents import sync_events_document

        print_json(sync_events_document(events))
        return
    for event in events:
        name = event.by.partition(" <")[0]
        echo(f"{minute_text(event.at)}  {event.title}, by {name}")
    if not events:
        echo("This copy was never in step with another one.")
