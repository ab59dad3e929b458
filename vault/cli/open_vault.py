"""Opening the vault that the command line names."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from vault.store.directory import SharedName
    from vault.store.vault import Vault


@contextmanager
def open_vault(ctx: click.Context) -> Iterator[Vault]:
    """The vault that the command line names."""
    from vault.model.written_form import written_as
    from vault.store.vault import Vault

    with Vault.open(vault_folder(ctx)) as vault:
        ctx.with_resource(written_as(vault.written_form))
        said: set[SharedName] = set()
        vault.on_shared_name = lambda shared: _tell_once(shared, said)
        yield vault


def _tell_once(shared: SharedName, said: set[SharedName]) -> None:
    from vault.cli.terminal import echo

    if shared not in said:
        said.add(shared)
        echo(f"remark: {shared}", err=True)


def vault_folder(ctx: click.Context) -> Path:
    """Folder of the vault that the command line names; internal errors are logged beside it."""
    from vault.store.local.error_log import log_errors_in

    folder = Path(ctx.find_root().obj)
    log_errors_in(folder / "axisvault", also_here=ctx.info_name == "serve")
    return folder
