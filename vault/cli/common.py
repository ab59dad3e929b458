"""What the commands share: options, opening the vault, printing."""

from __future__ import annotations

import gc
import getpass
import json
import os
import socket
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from vault.store.vault import Vault

Command = TypeVar("Command", bound=Callable[..., Any])
_SELDOM = 100_000  # new objects between two collections, where Python has 700


def json_option(command: Command) -> Command:
    """`--json`: one JSON document on stdout."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")(command)


def by_option(command: Command) -> Command:
    """`--by`: who does it."""
    return click.option(
        "--by", metavar='"NAME <MAIL>"', help="Who took it; default $AXISVAULT_BY, else git's user."
    )(command)


def file_options(command: Command) -> Command:
    """`--family`, `--channel`: what an export on disk does not say of itself."""
    channel = click.option(
        "--channel", type=int, metavar="N", help="Which axis of a file of several."
    )
    return click.option("--family", metavar="NAME", help="Family of a file:PATH.")(channel(command))


def units_option(command: Command) -> Command:
    """`--units`: what the reader wants to read; the sentences follow."""

    def choose(ctx: click.Context, _param: click.Parameter, system: str) -> None:
        from vault.meaning.reader import reading_in

        if system != "drive":
            ctx.with_resource(reading_in(system))

    return click.option(
        "--units",
        type=click.Choice(["drive", "si", "inch"]),
        default="drive",
        expose_value=False,
        callback=choose,
        help="Units to read: the drive's own, SI, or inch.",
    )(command)


def person(by: str | None) -> str:
    """Who acts: as given, from $AXISVAULT_BY, from git's settings, or the login."""
    from vault.model.snapshots import checked_person
    from vault.store.git.git_user import git_user

    return checked_person(by or os.environ.get("AXISVAULT_BY") or git_user() or _login())


def _login() -> str:
    try:
        name = getpass.getuser()
    except (KeyError, OSError):  # no such user in this container
        name = "unknown"
    return f"{name} <{name}@{socket.gethostname()}>"


@contextmanager
def open_vault(ctx: click.Context) -> Iterator[Vault]:
    """The vault that the command line names."""
    from vault.store.vault import Vault

    with Vault.open(vault_folder(ctx)) as vault:
        yield vault


def vault_folder(ctx: click.Context) -> Path:
    """Folder of the vault that the command line names."""
    return Path(ctx.find_root().obj)


def print_json(document: Mapping[str, object]) -> None:
    """Print one JSON document."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


@contextmanager
def rare_collections() -> Iterator[None]:
    """Look seldom for objects that hold each other: for long work that makes hardly any.

    Python would go through everything that is remembered, over and over.
    """
    before = gc.get_threshold()
    gc.set_threshold(_SELDOM, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


@contextmanager
def progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """A progress bar on stderr, only where that is a terminal; give it done and total."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    with click.progressbar(length=0, label=title, file=sys.stderr) as bar:

        def update(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        yield update
