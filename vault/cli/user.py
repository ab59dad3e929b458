"""Accounts of the viewer: who may log in, and what they may do."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, secho
from vault.model.written_form import day_text, minute_text

if TYPE_CHECKING:
    from vault.model.accounts import Account


@click.group()
def user() -> None:
    """Accounts of the viewer. Reading on this machine alone needs none.

    \b
    reader      reads everything, downloads evidence
    technician  also takes exports in, checks a restore, notes faults
    approver    also approves, waives and withdraws golden baselines
    admin       also verifies the vault, sees everybody's work

    They lie beside the vault's repository on this machine, and in no clone of it.
    """


_password_option = click.option(
    "--password-file", type=click.File("r"), metavar="FILE",
    help="Read the password from its first line (- is stdin) instead of asking.",
)  # fmt: skip


@user.command(
    epilog='Example: axisvault user add mira --person "Mira Okafor <mira@works.example>"'
    " --role technician"
)
@click.argument("name")
@click.option(
    "--person",
    "whose",
    required=True,
    metavar='"NAME <MAIL>"',
    help="Author of what the account does.",
)
@click.option(
    "--role", default="reader", show_default=True, help="reader, technician, approver or admin."
)
@_password_option
@by_option
@json_option
@click.pass_context
def add(
    ctx: click.Context, name: str, whose: str, role: str, password_file: Any, by: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Add the account NAME; its password is asked for, and never shown or logged."""
    from vault.jobs.accounts.accounts import add_account
    from vault.model.accounts import checked_account_name, checked_account_role
    from vault.model.snapshots import checked_person
    from vault.model.wording import with_article

    checked_account_name(name), checked_account_role(role), checked_person(whose)
    with open_vault(ctx) as vault:
        made = add_account(vault.state, name, whose, role, _password(password_file), by=person(by))
    if as_json:
        from vault.jobs.accounts.documents import account_document

        print_json(account_document(made))
    else:
        echo(f"Account {made.name} ({made.person}) is {with_article(made.role)}.")


@user.command("list", epilog="Example: axisvault user list")
@json_option
@click.pass_context
def list_(ctx: click.Context, as_json: bool) -> None:
    """List the accounts."""
    from vault.store.local.accounts import Accounts

    with open_vault(ctx) as vault:
        listed: list[Account] = []
        if Accounts.exist(vault.state):
            with Accounts(vault.state) as accounts:
                listed = accounts.all()
    if as_json:
        from vault.jobs.accounts.documents import accounts_document

        print_json(accounts_document(listed))
        return
    for account in listed:
        echo(f"{account.name}  {account.role}  {account.person}  since {day_text(account.created)}")
    if not listed:
        echo("There is no account: axisvault user add NAME")


@user.command(epilog="Example: axisvault user log")
@json_option
@click.pass_context
def log(ctx: click.Context, as_json: bool) -> None:
    """Tell which rights were given and taken away, by whom and when."""
    from vault.jobs.accounts.accounts import log_of_accounts

    with open_vault(ctx) as vault:
        known = log_of_accounts(vault.state)
    if as_json:
        from vault.jobs.accounts.documents import accounts_log_document

        print_json(accounts_log_document(known))
        return
    for change in known.changes:
        by = f", by {change.by}" if change.by else ""
        echo(f"{minute_text(change.at)}  {change.title}{by}")
    if known.broken is not None:
        secho(f"The log is broken: {known.broken}.", fg="red")
    if not known.changes:
        echo("There never was an account.")


@user.command(epilog="Example: axisvault user remove mira")
@click.argument("name")
@by_option
@json_option
@click.pass_context
def remove(ctx: click.Context, name: str, by: str | None, as_json: bool) -> None:
    """Remove an account; its sessions and tokens end at once. What it did stays recorded."""
    from vault.store.local.accounts import Accounts

    with open_vault(ctx) as vault, Accounts(vault.state) as accounts:
        accounts.remove(name, by=person(by))
    if as_json:
        from vault.jobs.accounts.documents import account_removed_document

        print_json(account_removed_document(name))
    else:
        echo(f"Account {name} is gone.")


@user.command(epilog="Example: axisvault user password mira")
@click.argument("name")
@_password_option
@by_option
@json_option
@click.pass_context
def password(
    ctx: click.Context, name: str, password_file: Any, by: str | None, as_json: bool
) -> None:
    """Set another password; sessions and tokens of the account end at once."""
    from vault.jobs.accounts.accounts import change_password

    with open_vault(ctx) as vault:
        change_password(vault.state, name, _password(password_file), by=person(by))
    if as_json:
        print_json({"account": name})
    else:
        echo(f"Account {name} has another password.")


@user.command(epilog="Example: axisvault user token mira --for nightly-report")
@click.argument("name")
@click.option("--for", "purpose", required=True, metavar="TEXT", help="What it is for.")
@click.option("--withdraw", is_flag=True, help="End the tokens for that purpose.")
@by_option
@json_option
@click.pass_context
def token(
    ctx: click.Context, name: str, purpose: str, withdraw: bool, by: str | None, as_json: bool
) -> None:
    """Make a token with which a script may do what the account may, and show it once.

    A script sends it as the header `Authorization: Bearer TOKEN`.
    """
    from vault.model.wording import plural
    from vault.store.local.accounts import Accounts

    ended, made = 0, None
    with open_vault(ctx) as vault, Accounts(vault.state) as accounts:
        if withdraw:
            ended = accounts.end_tokens(name, purpose, by=person(by))
        else:
            made = accounts.make_token(name, purpose, by=person(by))
    if as_json:
        print_json({"account": name, "purpose": purpose, "token": made, "ended": ended})
    else:
        echo(made or f"{plural(ended, 'token')} ended.")


def _password(file: Any) -> str:
    if file is not None:
        return str(file.readline()).rstrip("\r\n")
    if not sys.stdin.isatty():
        raise click.UsageError("a password cannot be asked for here: --password-file FILE")
    asked: str = click.prompt("Password", hide_input=True, confirmation_prompt=True, err=True)
    return asked
