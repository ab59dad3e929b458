"""The manual: manual."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import click

from vault.cli.options import json_option

if TYPE_CHECKING:
    from vault.jobs.manual.topics import Passage

_WIDTH = 100
_MOST_SHOWN = 20


@click.command(epilog="Example: axisvault manual restore")
@click.argument("topic", metavar="[TOPIC]", nargs=-1)
@click.option("--search", "text", metavar="WORDS", help="Where all of these words stand instead.")
@json_option
def manual(topic: tuple[str, ...], text: str | None, as_json: bool) -> None:
    """Read the manual: its contents, or TOPIC; what is no topic is looked for in all of them.

    It is part of the program, and needs neither a vault nor a network. The viewer has it too.
    """
    from vault.jobs.manual import documents
    from vault.jobs.manual.topics import CONTENTS, search, topics
    from vault.model.errors import WrongUsage

    name = " ".join(topic) or CONTENTS
    if text is None and (shown := topics().get(name.casefold())):
        if as_json:
            from vault.cli.printing_json import print_json

            print_json(documents.manual_document(shown))
        else:
            from vault.cli.terminal import echo_paged
            from vault.jobs.manual.topic_text import topic_text

            echo_paged(topic_text(shown, min(shutil.get_terminal_size().columns, _WIDTH)))
        return
    wanted = text if text is not None else name
    found = search(wanted)
    if not found:
        raise WrongUsage(
            f"the manual says nothing of {wanted!r}", hint="its topics: axisvault manual"
        )
    if as_json:
        from vault.cli.printing_json import print_json

        print_json(documents.search_document(wanted, found))
    else:
        _print_found(wanted, found)


def _print_found(wanted: str, found: list[Passage]) -> None:
    from vault.cli.printing_tables import print_wrapped
    from vault.cli.terminal import echo, secho
    from vault.model.wording import plural

    for passage in found[:_MOST_SHOWN]:
        section = passage.section
        where = f": {section.heading}" if section.heading else ""
        secho(f"{section.topic.name}{where}", bold=True)
        print_wrapped(f"  {passage.excerpt}")
    if len(found) > _MOST_SHOWN:
        echo(f"{plural(len(found) - _MOST_SHOWN, 'more section')} with {wanted!r}; --json has all.")
    echo(f"Read one: axisvault manual {found[0].section.topic.name}")
