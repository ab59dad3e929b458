"""Commands for the day on which a machine is lost: backup and recover."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo
from vault.model.written_form import minute_text

_LIST, _CONFIRM = "alerts list", "alerts confirm"


@click.command(epilog="Example: axisvault backup /media/safe/hall-2.axisbackup")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@json_option
@click.pass_context
def backup(ctx: click.Context, file: Path, as_json: bool) -> None:
    """Write all of the vault into FILE, what a copy does not have too.

    That is the history, accounts with their log, witness, messages that wait, which channels were
    confirmed here, and when this vault was synced. An older backup of the same vault is replaced,
    nothing else is.

    Hashes of passwords and tokens are in it: FILE is written for its owner alone. Keep it where
    nobody else reads it, and not on the machine that it is a backup of.
    """
    from vault.jobs.backup.backup import back_up

    with open_vault(ctx) as vault:
        made = back_up(vault, file)
    if as_json:
        from vault.jobs.backup.documents import backup_document

        print_json(backup_document(made))
        return
    from vault.model.wording import plural

    count = plural(made.manifest.snapshots, "snapshot")
    echo(f"The vault of {made.manifest.site} is in {file}, with {count}.")
    print_wrapped(
        "Hashes of passwords and tokens are in it: keep it where nobody else reads it, and not on "
        "this machine."
    )
    echo(f"To try it: axisvault recover {file} NEW-FOLDER")


@click.command(epilog="Example: axisvault recover /media/safe/hall-2.axisbackup plant")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@by_option
@json_option
def recover(file: Path, folder: Path, by: str | None, as_json: bool) -> int:
    """Make a vault in DIR out of a backup, all of it or nothing, and verify it.

    A backup that is damaged or cut short is refused as a whole. Nobody is logged in to the new
    vault, and no alert channel is used from this computer before somebody confirms it.
    """
    from vault.jobs.backup.recover import recover as job
    from vault.model.errors import Damaged
    from vault.model.wording import plural

    with progress("Verifying") as update:
        made = job(file, folder, person(by), update)
    problems = made.verified.problems
    if as_json:
        from vault.jobs.backup.documents import recovered_document

        print_json(recovered_document(made))
    else:
        day = minute_text(made.manifest.made_at)
        count = plural(made.verified.snapshots, "snapshot")
        echo(f"The vault of {made.manifest.site} is in {folder} as it was on {day}: {count}.")
        for problem in problems:
            echo(f"{problem.kind}: {problem.where}: {problem.details}")
        if not problems:
            echo("Everything is as it was recorded.")
        echo()
        echo("Next:")
        for step in _steps(folder, made.accounts, made.waiting, made.unconfirmed):
            print_wrapped(f"- {step}")
    if problems:
        echo(f"axisvault: {plural(len(problems), 'problem')} found", err=True)
    return Damaged.exit_code if problems else 0


def _steps(folder: Path, accounts: int, waiting: int, unconfirmed: tuple[str, ...]) -> list[str]:
    """What people have to see to, which the program cannot know."""
    from vault.model.wording import plural

    call = f"axisvault --vault {folder}"
    steps = [
        f"What came in since is not in it. Where a copy has it: {call} sync take OTHER; else take "
        f"the exports in again.",
        f"Hold it against a witness or a tip that was kept elsewhere: {call} verify --against FILE",
    ]
    if accounts:
        steps.append(
            f"{plural(accounts, 'account')} came back as of that day, with passwords and tokens. "
            f"Take away again whose rights have ended since: {call} user list"
        )
    listing, confirm = f"{call} {_LIST}", f"{call} {_CONFIRM}"
    if waiting:
        steps.append(
            f"{plural(waiting, 'message')} of that day may have gone out since. "
            f"The list of them: {listing}"
        )
    steps += [
        f"The channel {name} is not used from this computer until you say so: {confirm} {name}"
        for name in unconfirmed
    ]
    return steps
