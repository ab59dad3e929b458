"""Commands about alerts: what waits, send it, try a channel."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from vault.cli.open_vault import open_vault, vault_folder
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, secho
from vault.model.written_form import minute_text, placed

if TYPE_CHECKING:
    from vault.jobs.alerts.deliver import WaitingMessage


@click.group()
def alerts() -> None:
    """Messages about drift: what waits, send it, try a channel."""


@alerts.command("list", epilog="Example: axisvault alerts list --all")
@click.option("--all", "everything", is_flag=True, help="Also those that went out of late.")
@json_option
@click.pass_context
def list_(ctx: click.Context, everything: bool, as_json: bool) -> None:
    """List the messages that have not gone out, why, and when they are tried again."""
    from vault.jobs.alerts.confirm import channels_of
    from vault.jobs.alerts.deliver import waiting
    from vault.store.local.outbox import Outbox

    with open_vault(ctx) as vault:
        messages = waiting(vault.state, channels_of(vault), everything=everything)
        set_aside = Outbox.set_aside(vault.state)
    if as_json:
        from vault.jobs.alerts.documents import alerts_document

        print_json(alerts_document(messages, set_aside))
        return
    for waits in messages:
        _print_waiting(waits)
    if not messages:
        echo("No message of late." if everything else "No message waits.")
    for path in set_aside:
        echo(f"A damaged outbox was put aside, with what waited in it: {path}")


def _print_waiting(waits: WaitingMessage) -> None:
    from vault.model.wording import plural

    message = waits.message
    if message.sent is not None:
        state = f"went out {_minute(message.sent)}" + (", in part" if message.error else "")
    elif waits.is_gone:
        state = "waits: vault.yaml has no such channel any more"
    elif waits.is_unconfirmed:
        state = (
            "waits: nobody on this computer confirmed the channel as it is set up now; "
            f"axisvault alerts confirm {message.channel}"
        )
    elif message.attempts:
        times = plural(message.attempts, "time")
        state = f"waits: tried {times} in vain, again {_minute(message.next_try)}"
    else:
        state = "waits: not tried yet"
    secho(f"{message.channel}  {message.alert.subject}", bold=True)
    echo(f"  since {_minute(message.queued)}, {state}")
    if message.error:
        echo(f"  {message.error}")


def _minute(moment: datetime) -> str:
    return minute_text(placed(moment))


@alerts.command(
    "confirm", epilog="Example: axisvault alerts confirm maintenance-log --below /var/log/axes"
)
@click.argument("name", metavar="CHANNEL")
@click.option(
    "--below", type=click.Path(path_type=Path), metavar="FOLDER",
    help="Where a channel that writes files may do so; default: the folder of its path.",
)  # fmt: skip
@by_option
@json_option
@click.pass_context
def confirm(
    ctx: click.Context, name: str, below: Path | None, by: str | None, as_json: bool
) -> None:
    """Have CHANNEL used from this computer, as vault.yaml sets it up now.

    A channel that came from another copy of the vault is used only then: it decides where messages
    go, and which secrets of this computer go along. `site show` shows how it is set up. What
    `site set` puts in is confirmed by that.
    """
    from vault.jobs.alerts.confirm import confirm_channel

    with open_vault(ctx) as vault:
        channel, folder = confirm_channel(vault, name, person(by), below)
    if as_json:
        from vault.jobs.alerts.documents import channel_confirmed_document

        print_json(channel_confirmed_document(channel, folder))
    else:
        where = f", writing below {folder}" if folder is not None else ""
        echo(f"Channel {name} is used from this computer{where}.")


@alerts.command("send", epilog="Example: axisvault alerts send --now")
@click.option("--now", "early", is_flag=True, help="Also what is to be tried later only.")
@click.option("--keep-trying", is_flag=True, help="Stay until all is out, a day at most.")
@json_option
@click.pass_context
def send(ctx: click.Context, early: bool, keep_trying: bool, as_json: bool) -> int:
    """Send the messages that are due. Exit code 1 where one could not be sent."""
    from vault.jobs.alerts.confirm import channels_of
    from vault.jobs.alerts.deliver import deliver_from, keep_delivering, waiting
    from vault.model.wording import plural

    folder = vault_folder(ctx)
    done = deliver_from(folder, early=early)
    if keep_trying:
        done = keep_delivering(folder, done)
    with open_vault(ctx) as vault:
        messages = waiting(vault.state, channels_of(vault))
    left = [waits for waits in messages if waits.message.sent is None]
    if as_json:
        from vault.jobs.alerts.documents import sent_document

        print_json(sent_document(done, len(left)))
    else:
        if done.is_busy:
            echo("Another process is sending already.")
        for message in done.sent:
            echo(f"Sent by {message.channel}: {message.alert.subject}")
        words = plural(len(left), "message waits", "messages wait") if left else "No message waits"
        echo(f"{words}.")
        if left:
            echo("axisvault alerts list says why.")
    failed = {message.key for message in done.failed}
    return int(any(waits.message.key in failed for waits in left))


@alerts.command("test", epilog="Example: axisvault alerts test maintenance-mail")
@click.argument("name", metavar="CHANNEL")
@json_option
@click.pass_context
def test(ctx: click.Context, name: str, as_json: bool) -> int:
    """Send a test message by CHANNEL at once. Exit code 1 where it could not be sent."""
    from vault.jobs.alerts.confirm import channels_of
    from vault.jobs.alerts.deliver import try_channel

    with open_vault(ctx) as vault:
        tried = try_channel(vault, channels_of(vault), name)
    if as_json:
        from vault.jobs.alerts.documents import channel_test_document

        print_json(channel_test_document(name, tried))
    elif tried.is_sent:
        echo(f"A test message went out by {name}.")
        if tried.error:
            echo(f"In part only: {tried.error}")
    else:
        echo(f"No test message went out by {name}: {tried.error}")
    return int(not tried.is_sent)
