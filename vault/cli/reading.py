"""Commands that read: show, history, compare, check, spread, find."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault, vault_folder
from vault.cli.options import CHANGE_MARKS, MARGIN_MARKS, file_options, json_option, units_option
from vault.cli.printing_failures import every_problem
from vault.cli.printing_json import print_json

if TYPE_CHECKING:
    from vault.jobs.state.selectors import State


@contextmanager
def reading(
    ctx: click.Context, selectors: list[str], family: str | None, channel: int | None
) -> Iterator[list[State]]:
    """States that selectors stand for. Files alone need no vault, unless a family is named."""
    from vault.jobs.state.selectors import is_file, resolve, state_of_file

    folder = vault_folder(ctx)
    if all(map(is_file, selectors)) and family is None and not folder.exists():
        yield [state_of_file(selector, None, [], channel) for selector in selectors]
        return
    with open_vault(ctx) as vault:
        yield [resolve(vault, selector, family, channel) for selector in selectors]


@click.command(epilog="Example: axisvault show glaze-line-1/lift@2024-05-01")
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@file_options
@click.option("--reread", is_flag=True, help="Read a snapshot's export by today's dictionary.")
@units_option
@json_option
@click.pass_context
def show(
    ctx: click.Context,
    selector: str,
    family: str | None,
    channel: int | None,
    reread: bool,
    as_json: bool,
) -> None:
    """Show one parameter set, in groups.

    WHEN is latest, previous, first, golden, ~N, a commit id, or a date; file:PATH stands for an
    export on disk.
    """
    from vault.cli.printing_tables import print_set
    from vault.jobs.inspect.show import shown_parameters
    from vault.jobs.state.reread import reread_by_today

    with reading(ctx, [selector], family, channel) as (found,), every_problem():
        state = reread_by_today(found) if reread else found
        parameters = shown_parameters(state)
        if as_json:
            from vault.jobs.inspect.documents import parameter_set_document

            print_json(parameter_set_document(state, parameters))
        else:
            print_set(state, parameters)


@click.command(
    epilog=f"{CHANGE_MARKS}\n\nExample: axisvault history glaze-line-1/lift --parameter 0x6065:00"
)
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--parameter", metavar="CODE", help="One parameter's values, by code or role.")
@click.option(
    "--kind", "kinds", multiple=True, metavar="KIND",
    help="Only entries of a kind: snapshot, restore, approval, waiver, record, fault, alert or "
    "note; may be repeated.",
)  # fmt: skip
@click.option(
    "--most", type=click.IntRange(1), default=50, show_default=True, help="At most so many entries."
)
@click.option(
    "--skip", type=click.IntRange(0), default=0, metavar="N", help="Pass over the N newest ones."
)
@units_option
@json_option
@click.pass_context
def history(
    ctx: click.Context,
    address: str,
    parameter: str | None,
    kinds: tuple[str, ...],
    most: int,
    skip: int,
    as_json: bool,
) -> None:
    """Tell what happened to an axis, newest first, or to one parameter."""
    from vault.cli.printing_logbook import print_logbook
    from vault.cli.printing_tables import print_steps
    from vault.jobs.inspect.history import parameter_history
    from vault.jobs.logbook.book import logbook

    with open_vault(ctx) as vault:
        place = vault.require_axis(vault.address(address))
        if parameter is not None:
            steps = list(parameter_history(vault, place, parameter))
            if as_json:
                from vault.jobs.inspect.history_documents import parameter_history_document

                print_json(parameter_history_document(str(place), parameter, steps))
            else:
                print_steps(steps)
            return
        book = logbook(vault, place, kinds, skip, most)
        if as_json:
            from vault.jobs.logbook.documents import history_document

            print_json(history_document(vault, book))
        else:
            print_logbook(book)


@click.command(
    epilog=f"{CHANGE_MARKS} {MARGIN_MARKS}\n\n"
    "Example: axisvault compare glaze-line-1/lift@previous glaze-line-1/lift; "
    "axisvault compare glaze-line-1 glaze-line-2"
)
@click.argument("left", metavar="LEFT")
@click.argument("right", metavar="RIGHT")
@click.option("--all", "everything", is_flag=True, help="Also what is only restated, or live.")
@click.option("--exit-code", is_flag=True, help="Leave with 1 where something differs.")
@click.option(
    "--fault", metavar="CODE", help="Rank by what can explain a fault: the drive's code, or 8611h."
)
@click.option(
    "--pair",
    "pairing",
    multiple=True,
    metavar="LEFT=RIGHT",
    help="Of two machines: axes that pair under two names.",
)
@file_options
@units_option
@json_option
@click.pass_context
def compare(
    ctx: click.Context,
    left: str,
    right: str,
    everything: bool,
    exit_code: bool,
    fault: str | None,
    pairing: tuple[str, ...],
    family: str | None,
    channel: int | None,
    as_json: bool,
) -> int:
    """Explain the difference between two states, or two machines axis by axis.

    LEFT and RIGHT are MACHINE/AXIS[@WHEN], or file:PATH for an export on disk. WHEN is latest,
    previous, first, golden, ~N, a commit id, or a date. Where the dictionary of their family
    changed between them, what was taken with another one is read again by today's. Two MACHINEs
    pair by the names of their axes, and what must differ between machines is folded away.
    """
    from vault.cli.printing import print_comparison, print_suspects
    from vault.jobs.state.compare import compare_by_one_dictionary
    from vault.jobs.state.compare_machines import is_machine

    if is_machine(left) and is_machine(right):
        if fault is not None or family is not None or channel is not None:
            raise click.UsageError("of machines, only --pair, --all, --exit-code and --units", ctx)
        code, differs = _compare_machines(
            ctx, (left, right), pairing, everything=everything, as_json=as_json
        )
        return code or (1 if exit_code and differs else 0)
    if pairing:
        raise click.UsageError("--pair goes with two machines", ctx)
    with reading(ctx, [left, right], family, channel) as (first, second):
        compared = compare_by_one_dictionary(first, second)
        reported = compared.fault(fault) if fault is not None else None
        if as_json:
            from vault.jobs.state.documents import comparison_document

            print_json(comparison_document(compared, everything=everything, fault=reported))
        elif reported is not None:
            print_suspects(compared, reported)
        else:
            print_comparison(compared, everything=everything)
    return 1 if exit_code and compared.comparison.differs else 0


def _compare_machines(
    ctx: click.Context,
    machines: tuple[str, str],
    pairing: tuple[str, ...],
    *,
    everything: bool,
    as_json: bool,
) -> tuple[int, bool]:
    """The exit code of what could not be compared, and whether anything differs."""
    from vault.cli.printing_failures import print_failures
    from vault.cli.printing_machines import print_machines
    from vault.jobs.records.machines import recorded_pairing
    from vault.jobs.state.compare_machines import compare_machines, pairing_from

    with open_vault(ctx) as vault:
        told = pairing_from(pairing) or recorded_pairing(vault, *machines)
        compared = compare_machines(vault, *machines, told)
    if as_json:
        from vault.jobs.state.compare_machines_documents import machines_document

        print_json(machines_document(compared))
    else:
        print_machines(compared, everything=everything)
    return print_failures(list(compared.failures.values())), compared.differs


@click.command(epilog=f"{CHANGE_MARKS}\n\nExample: axisvault check glaze-line-1/lift")
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@file_options
@units_option
@json_option
@click.pass_context
def check(
    ctx: click.Context, selector: str, family: str | None, channel: int | None, as_json: bool
) -> int:
    """Check whether one parameter set is plausible, alone, on its machine, beside the other side.

    Leaves with 1 where something is not.
    """
    from vault.cli.printing import print_complaints
    from vault.cli.printing_tables import print_coverage, print_wrapped
    from vault.jobs.state.cross_checks import check_both
    from vault.jobs.state.reread import older_text

    with reading(ctx, [selector], family, channel) as (state,):
        checked = check_both(state)
        if as_json:
            from vault.jobs.state.check_documents import check_document

            print_json(check_document(checked))
        else:
            print_coverage(state)
            if older := older_text(state):
                print_wrapped(older)
            if checked.told_beside:
                print_wrapped(checked.told_beside)
            told = [(one, checked.looked_at(one)) for one in checked.complaints]
            print_complaints(told, state.parameters.values())
    return 1 if checked.complaints else 0


@click.command(epilog=f"{MARGIN_MARKS}\n\nExample: axisvault spread '*/lift'")
@click.argument("pattern", metavar="PATTERN")
@click.option("--parameter", metavar="CODE", help="One parameter, by code or role.")
@click.option("--margins", "by_margin", is_flag=True, help="Their margins: below 1, or far off.")
@click.option("--all", "everything", is_flag=True, help="With --margins also where none is odd.")
@units_option
@json_option
@click.pass_context
def spread(
    ctx: click.Context,
    pattern: str,
    parameter: str | None,
    by_margin: bool,
    everything: bool,
    as_json: bool,
) -> None:
    """Put the latest state of many axes side by side, and show the odd ones out.

    PATTERN fits addresses, as in '*/lift' or 'glaze-line-?/*'.
    """
    from vault.cli.printing_spread import print_spread
    from vault.jobs.inspect.spread import spread as job

    if by_margin:
        if parameter is not None:
            raise click.UsageError("--margins and --parameter do not go together", ctx)
        _spread_margins(ctx, pattern, everything=everything, as_json=as_json)
        return
    with open_vault(ctx) as vault:
        compared = job(vault, pattern, parameter)
        if as_json:
            from vault.jobs.inspect.documents import spread_document

            print_json(spread_document(compared))
        else:
            print_spread(compared, parameter=parameter)


def _spread_margins(ctx: click.Context, pattern: str, *, everything: bool, as_json: bool) -> None:
    from vault.cli.printing_margins import print_margin_spread
    from vault.jobs.inspect.spread import margin_spread

    with open_vault(ctx) as vault:
        found = margin_spread(vault, pattern)
        if as_json:
            from vault.jobs.inspect.margin_documents import margin_spread_document

            print_json(margin_spread_document(found))
        else:
            print_margin_spread(found, everything=everything)


@click.command(epilog='Example: axisvault find following_error_window --value "> 5 mm"')
@click.argument("text", metavar="TEXT|CODE|ROLE")
@click.option(
    "--value", metavar="CONDITION", help='Only values such as "> 5 mm", "4..6 mm" or a label.'
)
@click.option("--now", "only_now", is_flag=True, help="Only what is there now.")
@json_option
@click.pass_context
def find(ctx: click.Context, text: str, value: str | None, only_now: bool, as_json: bool) -> None:
    """Find which axes have, or had at any time, a setting.

    TEXT is a code, a role, or part of a name or label.
    """
    from vault.cli.printing_tables import print_occurrences
    from vault.jobs.inspect.find import find as job

    with open_vault(ctx) as vault, progress("Reading values") as update:
        occurrences = job(vault, text, value, only_now=only_now, progress=update)
    if as_json:
        from vault.jobs.inspect.documents import find_document

        print_json(find_document(occurrences))
    else:
        print_occurrences(occurrences)
