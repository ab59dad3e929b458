"""Opening the vault that the command line names."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from vault.store.vault import Vault


@contextmanager
def open_vault(ctx: click.Context) -> Iterator[Vault]:
    """The vault that the command line names."""
    from vault.store.vault import Vault

    with Vault.open(vault_folder(ctx)) as vault:
        yield vault


def vault_folder(ctx: click.Context) -> Path:
    """Folder of the vault that the command line names."""
    return Path(ctx.find_root().obj)
