"""The viewer in a browser: serve it."""

from __future__ import annotations

import ipaddress
from importlib import import_module
from pathlib import Path

import click

from vault.cli.open_vault import vault_folder
from vault.cli.terminal import echo


@click.command(epilog="Example: axisvault serve --port 8080")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(0, 65535))
@click.option(
    "--proxies", default=0, show_default=True, type=click.IntRange(0, 9), metavar="N",
    help="How many servers in front pass on who asks (X-Forwarded-…); none is believed otherwise.",
)  # fmt: skip
@click.option(
    "--most-work", type=click.IntRange(1, 40), metavar="N",
    help="How much long work of one account may wait or run at a time; default: any.",
)  # fmt: skip
@click.pass_context
def serve(ctx: click.Context, host: str, port: int, proxies: int, most_work: int | None) -> None:
    """Show the vault in a browser, until stopped (Ctrl-C).

    On this machine alone, reading takes no log-in unless vault.yaml says so (open_reading); what
    writes always takes an account. Where others reach it, put a server with TLS in front of it, so
    that passwords do not cross the network in the clear.
    """
    from vault.model.errors import Unavailable, WrongUsage
    from vault.store.local.accounts import Accounts
    from vault.store.vault import Vault

    # By name: the viewer is a floor above, which nothing here depends on.
    run = import_module("webui.server").serve
    folder = Path(vault_folder(ctx))
    host = host.strip("[]")
    is_local = _is_loopback(host) and not proxies
    with Vault.open(folder) as vault:
        if not is_local and not vault.site_record.open_reading:
            with Accounts(vault.state) as accounts:
                if not accounts.all():
                    raise WrongUsage(
                        "others reach this address, and there is no account to log in with",
                        hint="axisvault user add NAME",
                    )

    def started(address: str) -> None:
        echo(f"The vault is shown at {address}")

    try:
        run(folder, host, port, started, is_local=is_local, proxies=proxies, most_work=most_work)
    except OSError as error:
        place = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        raise Unavailable(f"{place} cannot be listened on: {error.strerror}") from error


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
