"""The command line. Commands are loaded only when called, so that starting is quick."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

import click

from vault.cli.terminal import echo, echo_json

if TYPE_CHECKING:
    from vault.model.errors import VaultError

_COMMANDS = {
    "create": ("vaults", "Make a new vault."),
    "demo": ("vaults", "Build the example vault and show what it is for."),
    "family": ("families", "Dictionaries of drive families."),
    "site": ("records", "The site: approval policy, export interval, alerts."),
    "axis": ("records", "Axes as built: mechanics, nameplate, cabinet, controller link."),
    "machine": ("machines", "Machines: title, tags, twin; rename, retire."),
    "ingest": ("intake", "Take one export in."),
    "ingest-tree": ("intake", "Take many exports in."),
    "watch": ("watch", "Take in what is dropped into a folder, until stopped."),
    "show": ("reading", "Show one parameter set, in groups."),
    "history": ("reading", "Tell what happened to an axis, or to one parameter."),
    "compare": ("reading", "Explain the difference between two states."),
    "margins": ("margins", "Hold what an axis has against what it must cover."),
    "spread": ("reading", "Put many axes side by side, odd ones out."),
    "find": ("reading", "Find which axes have, or had, a setting."),
    "check": ("reading", "Check whether one parameter set is plausible."),
    "restore": ("restore", "A swapped drive: plan what to load, check what was."),
    "golden": ("baseline", "Golden baselines: approve, show, waive, withdraw."),
    "drift": ("baseline", "Hold the latest snapshots against their golden baselines."),
    "fault": ("fault", "Faults of an axis: note one, take in a history, list them."),
    "note": ("note", "Notes about an axis or a snapshot; put right when one was taken."),
    "trial": ("trials", "Test runs as a record: a form, what was tried, what follows."),
    "audit": ("audit", "What changed around a fault, and what explains it."),
    "alerts": ("alerts", "Messages about drift: what waits, send it, try a channel."),
    "sync": ("sync", "Copies of the vault: take from one, give to one."),
    "table": ("tables", "Write all settings over time as one table, for engines made for size."),
    "backup": ("backups", "Write everything into one file, accounts and witness too."),
    "recover": ("backups", "Make a vault out of such a file."),
    "serve": ("serve", "Show the vault in a browser."),
    "user": ("user", "Accounts of the viewer: add, list, remove."),
    "manual": ("manual", "Read the manual, or find words in it."),
    "verify": ("vaults", "Check the whole vault against itself."),
    "reindex": ("vaults", "Rebuild the index, and pack the vault."),
}
_CAUTION = """\b
The vault reads exports and never writes to a drive. Parameters decide whether
an axis moves, stops and holds: have changes made and checked by qualified
people, under the local codes and the machine's own risk assessment."""


class LazyGroup(click.Group):
    """A group whose commands live in modules of this package."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of use."""
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """Load the module that has the command."""
        if name not in _COMMANDS:
            return None
        module = import_module(f"vault.cli.{_COMMANDS[name][0]}")
        command: click.Command = getattr(module, name.replace("-", "_"))
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without loading any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in _COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Say which command may have been meant."""
        if args and args[0] not in _COMMANDS and not args[0].startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(args[0], _COMMANDS, n=1)
            meant = f"; did you mean {near[0]}?" if near else ""
            raise click.UsageError(f"there is no command {args[0]!r}{meant}", ctx)
        return super().resolve_command(ctx, args)


def _version(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        from vault import __version__

        echo(f"axisvault {__version__}")
        ctx.exit()


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog=f"{_CAUTION}\n\n\b\nExample: axisvault --vault plant compare m1/lift@previous m1/lift",
)
@click.option(
    "--vault",
    "folder",
    envvar="AXISVAULT",
    default="vault-data",
    show_default=True,
    metavar="DIR",
    help="The vault; $AXISVAULT names another default.",
)
@click.option(
    "--version", is_flag=True, expose_value=False, is_eager=True, callback=_version,
    help="Show the version.",
)  # fmt: skip
@click.pass_context
def axisvault(ctx: click.Context, folder: str) -> None:
    """Keep, compare and restore the parameters of drives."""
    ctx.obj = folder


def main(arguments: Sequence[str] | None = None) -> None:
    """Run a command line and leave with its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    sys.exit(run(given))


def run(arguments: list[str]) -> int:
    """Run a command line; returns the exit code. Errors become one line on stderr."""
    from vault.model.errors import VaultError, WrongUsage

    try:
        code: Any = axisvault.main(args=arguments, prog_name="axisvault", standalone_mode=False)
        return code if isinstance(code, int) else 0
    except VaultError as error:
        return _report(error, arguments)
    except click.UsageError as error:
        command = error.ctx.command_path if error.ctx else "axisvault"
        problem = WrongUsage(error.format_message(), hint=f"{command} --help")
        return _report(problem, arguments)
    except click.ClickException as error:
        return _report(WrongUsage(error.format_message()), arguments)
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except (click.Abort, KeyboardInterrupt):
        echo("axisvault: stopped; nothing was half-written", err=True)
        return 130
    except BrokenPipeError:  # the reader of our output has left
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        from vault.model.internal_errors import internal_error

        named = next((word for word in arguments if word in _COMMANDS), "")
        return _report(internal_error(error, f"axisvault {named}".strip()), arguments)


def _report(error: VaultError, arguments: list[str]) -> int:
    if "--json" in arguments:
        from vault.jobs.state.document_parts import error_document

        echo_json(error_document(error))
    echo(f"axisvault: {error}", err=True)
    return error.exit_code
