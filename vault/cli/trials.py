"""Commands about trials: the form, adding one, listing them, showing one."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo, echo_file
from vault.cli.trial_trace import trace

_FILE = click.Path(path_type=Path)


@click.group()
def trial() -> None:
    """Trials: what was tried on an axis after set-up or repair, as a record.

    No acceptance of a safety function: that is another paper.
    """


@trial.command(epilog="Example: axisvault trial template glaze-line-1/lift --out trial.yaml")
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--out", type=_FILE, metavar="FILE", help="Write it into a new file.")
@json_option
@click.pass_context
def template(ctx: click.Context, address: str, out: Path | None, as_json: bool) -> None:
    """Write a form of what is to be tried on an axis, in the safe order.

    What is not fitted, by axis record and parameter set, is not asked.
    """
    from vault.cli.new_file import write_new
    from vault.jobs.trials.template import trial_template

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        form = trial_template(vault, place)
    if out is not None:
        write_new(out, form)
    if as_json:
        from vault.jobs.trials.documents import trial_template_document

        print_json(trial_template_document(str(place), out, form))
    elif out is None:
        echo_file(form.decode("utf-8"))
    else:
        echo(f"Fill in {out} at the axis, then: axisvault trial add {place} {out}")


@trial.command(epilog="Example: axisvault trial add glaze-line-1/lift trial.yaml")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("file", type=_FILE)
@click.option("--taken-at", metavar="TIME", help="When it was tried; default: as the file says.")
@by_option
@json_option
@click.pass_context
def add(
    ctx: click.Context, address: str, file: Path, taken_at: str | None, by: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Keep the trial in FILE, and say what it came to.

    It belongs to the parameter set that was in force then.
    """
    from vault.cli.printing_trials import print_result
    from vault.jobs.trials.add import add_trial_file

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        result = add_trial_file(vault, place, file, person(by), taken_at)
        if as_json:
            from vault.jobs.trials.documents import trial_document

            print_json(trial_document(result))
        else:
            print_result(result)


@trial.command("list", epilog="Example: axisvault trial list glaze-line-1/lift")
@click.argument("address", metavar="MACHINE/AXIS")
@json_option
@click.pass_context
def list_(ctx: click.Context, address: str, as_json: bool) -> None:
    """List the trials of an axis, newest first, with what they came to."""
    from vault.cli.printing_trials import print_results
    from vault.jobs.trials.kept import results_of

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        problems: list[str] = []
        results = list(results_of(vault, place, problems))
        for problem in problems:
            echo(f"axisvault: note: {problem}", err=True)
        if as_json:
            from vault.jobs.trials.documents import trials_document

            print_json(trials_document(str(place), results))
        else:
            print_results(results)


@trial.command(epilog="Example: axisvault trial show glaze-line-1/lift latest")
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("name", metavar="[TRIAL]", default="latest")
@json_option
@click.pass_context
def show(ctx: click.Context, address: str, name: str, as_json: bool) -> None:
    """Show a trial with what it came to; TRIAL as `trial list` names it, else the latest."""
    from vault.cli.printing_trials import print_result
    from vault.jobs.trials.kept import result_of, trial_named

    with open_vault(ctx) as vault:
        place = vault.require_whole_axis(vault.address(address))
        result = result_of(vault, place, trial_named(vault, place, name))
        if as_json:
            from vault.jobs.trials.documents import trial_document

            print_json(trial_document(result))
        else:
            print_result(result)


trial.add_command(trace)
