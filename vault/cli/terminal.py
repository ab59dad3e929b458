"""The one way out to a terminal: what others wrote can neither command it nor hide on it.

Every command prints by these; nothing else of the command line writes to a stream.
"""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Mapping
from typing import Any

import click

from vault.model.visible_text import visible, visible_json, visible_line


def echo(text: str = "", *, err: bool = False, nl: bool = True) -> None:
    """Print a line. What in it would end the line, or do anything unseen, shows as a mark."""
    click.echo(visible_line(text), err=err, nl=nl)


def secho(text: str, *, err: bool = False, nl: bool = True, **style: Any) -> None:
    """Print a line in a style, as `echo`."""
    click.secho(visible_line(text), err=err, nl=nl, **style)


def echo_lines(text: str, bold_up_to: int = 0) -> None:
    """Print lines that this program has parted itself; the first characters may be bold."""
    shown = visible(text)
    click.echo(click.style(shown[:bold_up_to], bold=True) + shown[bold_up_to:])


def echo_file(text: str) -> None:
    """Print a file that somebody wrote: as it is into a file or a pipe, marked on a terminal."""
    click.echo(visible(text) if sys.stdout.isatty() else text, nl=False)


def echo_paged(text: str) -> None:
    """Print a long text: page by page on a terminal on which it does not fit, else at once."""
    shown = visible(text)
    if sys.stdout.isatty() and shown.count("\n") >= shutil.get_terminal_size().lines:
        click.echo_via_pager(shown)
    else:
        click.echo(shown, nl=False)


def echo_json(document: Mapping[str, object], indent: int | None = None) -> None:
    """Print one JSON document, with escapes for what does something unseen."""
    click.echo(visible_json(json.dumps(document, ensure_ascii=False, indent=indent)))
