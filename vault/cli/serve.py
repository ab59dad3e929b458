"""The viewer in a browser: serve it."""

from __future__ import annotations

import ipaddress
from importlib import import_module
from pathlib import Path

import click

from vault.cli.common import vault_folder


@click.command(epilog="Example: axisvault serve --port 8080")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(0, 65535))
@click.pass_context
def serve(ctx: click.Context, host: str, port: int) -> None:
    """Show the vault in a browser, for reading, until stopped (Ctrl-C).

    There are no accounts yet: whoever reaches the address reads everything. It therefore listens on
    this machine only; put a server with log-in in front of it for others.
    """
    from vault.model.errors import Unavailable, WrongUsage
    from vault.store.vault import Vault

    # By name: the viewer is a floor above, which nothing here depends on.
    run = import_module("webui.server").serve
    if not _is_loopback(host):
        raise WrongUsage(
            f"{host} can be reached from elsewhere, and there is no log-in yet",
            hint="listen on 127.0.0.1, behind a server that asks who is there",
        )
    folder = Path(vault_folder(ctx))
    Vault.open(folder).close()
    try:
        run(folder, host, port, lambda address: click.echo(f"The vault is shown at {address}"))
    except OSError as error:
        raise Unavailable(f"{host}:{port} cannot be listened on: {error.strerror}") from error


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
