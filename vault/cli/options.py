"""Options that commands share, and who acts."""

from __future__ import annotations

import getpass
import os
import socket
from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])

MARGIN_MARKS = (
    "Of margins: !! short of 1 or below its floor, ?! may be, ok holds, ?? cannot be told."
)
CHANGE_MARKS = (
    "Marks: !! hazard, <> travel, ?? unclassified, ~~ dynamics, == electrical, :: link, .. record; "
    "## a cause that shifts values, -- one that only restates them."
)
"""What the marks before lines mean, for helps."""


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
