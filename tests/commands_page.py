"""The manual's page of commands, made from what each says of itself with --help.

`python -m tests.reference` writes it.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import click

from vault.cli import axisvault

PAGE = Path(__file__).parents[1] / "vault/manual/commands.md"
_HEAD = """\
# Commands and options

`axisvault [--vault DIR] COMMAND …`; each has `--help`. The vault is `--vault`, else `$AXISVAULT`,
else `./vault-data`. What a command prints with `--json` stands in [json](json.md), what it leaves
with in [exit-codes](exit-codes.md), how states and axes are named in [names](names.md).

This page is made from the helps of the commands themselves: `python -m tests.reference`.
"""
_MARKS = re.compile(r"([\\*_<>\[\]|])")


def commands_page() -> str:
    """The whole page."""
    parts = [_HEAD]
    for path, command in commands():
        parts.append(f"## {path}\n")
        parts += [*_command(path, command), ""]
    return "\n".join(parts).rstrip() + "\n"


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every command, and every one of a group, by what is typed."""
    context = click.Context(axisvault)
    for name in axisvault.list_commands(context):
        command = axisvault.get_command(context, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {inner}", one) for inner, one in command.commands.items())


def _command(path: str, command: click.Command) -> Iterator[str]:
    usage = command.collect_usage_pieces(click.Context(command))
    yield f"`axisvault {' '.join([path, *usage])}`\n"
    yield f"{_help(command.help or '')}\n"
    for option in command.params:
        if isinstance(option, click.Option):
            with click.Context(command) as context:
                record = option.get_help_record(context)
            if record is not None:
                yield f"- `{record[0]}`: {_text(record[1])}"
    if command.epilog:
        yield f"\n`{command.epilog.removeprefix('Example: ')}`"


def _help(text: str) -> str:
    """Paragraphs; what click leaves as it is, as code."""
    parts = inspect.cleandoc(text).split("\n\n")
    return "\n\n".join(_paragraph(part) for part in parts)


def _paragraph(part: str) -> str:
    if part.startswith("\b\n"):
        return f"```\n{part[2:]}\n```"
    return _text(part)


def _text(words: str) -> str:
    """Words as Markdown shows them as they are; between backticks they stand as code already."""
    parts = " ".join(words.split()).split("`")
    return "`".join(
        part if number % 2 else _MARKS.sub(r"\\\1", part) for number, part in enumerate(parts)
    )


def write() -> None:
    """Write the page."""
    PAGE.write_text(commands_page(), encoding="utf-8")
