"""Commands about dictionaries of drive families."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from vault.cli.open_vault import open_vault, vault_folder
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_failures import every_problem, print_failures
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, echo_file

if TYPE_CHECKING:
    from vault.model.errors import VaultError
    from vault.model.names import Side
    from vault.store.vault import FamilyFile, Vault

_FILE = click.Path(path_type=Path)


@click.group()
def family() -> None:
    """Dictionaries of drive families."""


@family.command("add", epilog="Example: axisvault family add rowan.yaml")
@click.argument("file", type=_FILE)
@by_option
@json_option
@click.pass_context
def add(ctx: click.Context, file: Path, by: str | None, as_json: bool) -> None:
    """Check the dictionary in FILE and put it into the vault."""
    from vault.jobs.records.edit import add_family

    with open_vault(ctx) as vault, every_problem():
        added = add_family(vault, file, person(by))
    if as_json:
        from vault.jobs.records.documents import family_added_document

        print_json(family_added_document(added))
    else:
        state = "was there already" if added.unchanged else "is in the vault"
        echo(f"Family {added.name} {state}.")


@family.command(
    "draft", epilog="Example: axisvault family draft lift.csv feed.csv --name oak --out oak.yaml"
)
@click.argument("exports", metavar="EXPORT...", nargs=-1, required=True, type=_FILE)
@click.option("--name", required=True, metavar="NAME", help="What the family is to be called.")
@click.option("--title", default="", metavar="TEXT", help="What people call its drives.")
@click.option(
    "--describe", "descriptions", multiple=True, type=_FILE, metavar="FILE",
    help="A device description: ranges, defaults, choices, access.",
)  # fmt: skip
@click.option(
    "--say", multiple=True, metavar="KEY=TEXT",
    help="What you know better, as decimal=, or columns.value=Setting; may be given often.",
)  # fmt: skip
@click.option(
    "--side", type=click.Choice(["drive", "controller"]), default="drive",
    help="Whose settings they are: roles of that side are proposed by name.",
)  # fmt: skip
@click.option("--out", type=_FILE, metavar="FILE", help="Write the dictionary here.")
@json_option
@click.pass_context
def draft(
    ctx: click.Context, exports: tuple[Path, ...], name: str, title: str,
    descriptions: tuple[Path, ...], say: tuple[str, ...], side: Side, out: Path | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Propose a dictionary that reads EXPORTs of a drive that nobody here knows.

    What was guessed stands in it with how sure it is and why. A role that people's safety may rest
    on is never given by guess: it waits under `suggest` until somebody writes it under `role`.
    Nothing is put into a vault; none is needed.
    """
    from vault.cli.new_file import write_new
    from vault.jobs.drafting.draft_files import draft_files
    from vault.jobs.drafting.draft_text import draft_text

    drafted = draft_files(
        exports,
        name,
        title=title,
        descriptions=descriptions,
        say=say,
        others=_at_hand(ctx),
        side=side,
    )
    content = draft_text(drafted)
    if out is not None:
        write_new(out, content)
    if as_json:
        from vault.jobs.drafting.documents import draft_document

        print_json(draft_document(drafted, content))
        return
    from vault.cli.printing_drafts import print_draft

    print_draft(drafted, content, exports, out)


def _at_hand(ctx: click.Context) -> list[FamilyFile]:
    """The dictionaries of the vault, where there is one."""
    from vault.jobs.records.edit import list_families
    from vault.model.errors import VaultError

    try:
        with open_vault(ctx) as vault:
            return list_families(vault, lambda _: None)
    except VaultError:
        return []


@family.command("list", epilog="Example: axisvault family list")
@json_option
@click.pass_context
def list_(ctx: click.Context, as_json: bool) -> int:
    """List the dictionaries of the vault."""
    from vault.cli.printing_tables import print_table
    from vault.jobs.records.edit import list_families

    with open_vault(ctx) as vault:
        failures: list[VaultError] = []
        families = list_families(vault, failures.append)
    code = print_failures(failures)
    if as_json:
        from vault.jobs.records.documents import families_document

        print_json(families_document(families, failures))
        return code
    rows = [
        [file.name, file.family.title, file.family.export.format, str(len(file.family.parameters))]
        for file in families
    ]
    print_table(["family", "title", "format", "parameters"], rows)
    for file in families:
        for text in _remarks(file):
            echo(f"Note: {text}")
    return code


@family.command("show", epilog="Example: axisvault family show rowan")
@click.argument("name")
@json_option
@click.pass_context
def show(ctx: click.Context, name: str, as_json: bool) -> None:
    """Show the dictionary of the family NAME."""
    with open_vault(ctx) as vault:
        file = vault.family_file(name)
    if as_json:
        from vault.jobs.records.documents import dictionary_document

        print_json(dictionary_document(file))
    else:
        echo_file(file.content.decode("utf-8-sig"))
        for text in _remarks(file):
            echo(f"axisvault: note: {text}", err=True)


@family.command("roles", epilog="Example: axisvault family roles Schleppfehler")
@click.argument("word", required=False)
@json_option
def list_roles(word: str | None, as_json: bool) -> None:
    """List the roles that a dictionary may name, or those that WORD fits.

    WORD is a role, part of one, the address of a standard object, or what a parameter is called on
    the shop floor. No vault is needed.
    """
    from vault.jobs.families.roles import list_roles as job

    entries = job(word)
    if as_json:
        from vault.jobs.families.documents import roles_document

        print_json(roles_document(word, entries))
        return
    from vault.cli.printing_roles import print_all_roles, print_roles

    show = print_all_roles if word is None else print_roles
    show(entries)


@family.command("try", epilog="Example: axisvault family try larch.yaml monday.csv tuesday.csv")
@click.argument("dictionary")
@click.argument("exports", metavar="EXPORT...", nargs=-1, required=True, type=_FILE)
@click.option("--channel", type=int, metavar="N", help="Which axis of files of several.")
@json_option
@click.pass_context
def try_(
    ctx: click.Context,
    dictionary: str,
    exports: tuple[Path, ...],
    channel: int | None,
    as_json: bool,
) -> int:
    """Read exports by a dictionary, and say what becomes of every line. Nothing is stored.

    DICTIONARY is a YAML file, for which no vault is needed, or the name of a family of the vault.
    Leaves with 1 where anything was refused.
    """
    from vault.jobs.families.try_dictionary import try_dictionary

    with _vault_if_any(ctx) as vault, every_problem():
        tried = try_dictionary(dictionary, exports, vault, channel)
    print_failures(tried.failures)
    if as_json:
        from vault.jobs.families.documents import tried_document

        print_json(tried_document(tried))
    else:
        from vault.cli.printing_families import print_tried

        print_tried(tried)
    return 0 if tried.is_whole else 1


@family.command("describe", epilog="Example: axisvault family describe oak oak-drives.xdd")
@click.argument("name")
@click.argument("file", type=_FILE)
@by_option
@json_option
@click.pass_context
def describe(ctx: click.Context, name: str, file: Path, by: str | None, as_json: bool) -> None:
    """Add what the device description FILE says to the dictionary of the family NAME.

    Ranges, defaults, units, choices and access are added where a parameter lacks them and where the
    description is certain of them. What people wrote is kept.
    """
    from vault.jobs.drafting.describe_family import describe_family

    with open_vault(ctx) as vault, every_problem():
        described = describe_family(vault, name, file, person(by))
    if as_json:
        from vault.jobs.drafting.documents import described_document

        print_json(described_document(described))
        return
    from vault.cli.printing_families import print_described

    print_described(described)


@family.command(
    "confirm",
    epilog="Example: axisvault family confirm oak P1.05=profile_velocity --none P9.01",
)
@click.argument("name")
@click.argument("said", metavar="[CODE=ROLE]...", nargs=-1)
@click.option("--none", multiple=True, metavar="CODE", help="This one has no role; repeat it.")
@click.option("--reason", metavar="TEXT", help="By what you know, as a page of the manual.")
@by_option
@json_option
@click.pass_context
def confirm(
    ctx: click.Context, name: str, said: tuple[str, ...], none: tuple[str, ...],
    reason: str | None, by: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Say which roles parameters of the family NAME have, or that they have none.

    Until somebody does, a suggestion counts for nothing. Who said so, when and why stands beside
    each in the dictionary. Printed is what each parameter is now on the axes of the family.
    """
    from vault.jobs.families.confirm_roles import confirm_roles, parse_roles, roles_said

    wanted = parse_roles(said, none)
    with open_vault(ctx) as vault, every_problem():
        roles = roles_said(vault, name, wanted)
        added = confirm_roles(vault, name, wanted, person(by), reason)
    if as_json:
        from vault.jobs.families.documents import roles_confirmed_document

        print_json(roles_confirmed_document(roles, added))
        return
    from vault.cli.printing_roles import print_confirmed

    print_confirmed(name, roles, unchanged=added.unchanged)


@family.command("learn", epilog="Example: axisvault family learn oak --confirm P9.01")
@click.argument("name")
@click.option(
    "--confirm", "codes", multiple=True, metavar="CODE", help="This one is a live value; repeat it."
)
@by_option
@json_option
@click.pass_context
def learn(
    ctx: click.Context, name: str, codes: tuple[str, ...], by: str | None, as_json: bool
) -> None:
    """Propose which parameters of the family NAME are live values and no settings.

    They are read-only, have no role, and differ between exports of one visit. Nothing is changed
    before somebody confirms it with --confirm.
    """
    from vault.jobs.families.learn import confirm_live, may_be_live

    with open_vault(ctx) as vault:
        proposed = may_be_live(vault, name)
        added = confirm_live(vault, name, codes, person(by)) if codes else None
    if as_json:
        from vault.jobs.families.documents import learning_document

        commit = added.commit if added is not None else None
        print_json(learning_document(name, proposed, codes, commit))
        return
    from vault.cli.printing_families import print_learnt

    print_learnt(name, proposed, codes)


@contextmanager
def _vault_if_any(ctx: click.Context) -> Iterator[Vault | None]:
    """The vault that the command line names, None where there is no such folder."""
    if not vault_folder(ctx).exists():
        yield None
        return
    with open_vault(ctx) as vault:
        yield vault


def _remarks(file: FamilyFile) -> Iterator[str]:
    """What is wrong with a dictionary of the vault that reads all the same."""
    for problem in file.problems:
        yield f"{file.name}.yaml, line {problem.line}: {problem.text}: {problem.reason}"
