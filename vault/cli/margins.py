"""The command about margins: what an axis has, held against what it must cover."""

from __future__ import annotations

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import MARGIN_MARKS, file_options, json_option, units_option
from vault.cli.printing_json import print_json
from vault.cli.reading import reading


@click.command(epilog=f"{MARGIN_MARKS}\n\nExample: axisvault margins glaze-line-1/lift")
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@click.option("--margin", "wanted", metavar="NAME", help="Only the margin of that name.")
@click.option("--all", "everything", is_flag=True, help="Also formulas, and what never moved.")
@click.option("--over-time", is_flag=True, help="Each snapshot at which one moved.")
@file_options
@units_option
@json_option
@click.pass_context
def margins(
    ctx: click.Context,
    selector: str,
    wanted: str | None,
    everything: bool,
    over_time: bool,
    family: str | None,
    channel: int | None,
    as_json: bool,
) -> None:
    """Hold what an axis has against what it must cover: room against a stop, torque against a load.

    1 is the edge. Worst first; what cannot be told comes last, with what to enter. WHEN is as in
    show; file:PATH stands for an export on disk.
    """
    if over_time:
        _over_time(ctx, selector, wanted, everything=everything, as_json=as_json)
        return
    from vault.cli.printing_margins import print_margins
    from vault.jobs.inspect.margins import axis_margins

    with reading(ctx, [selector], family, channel) as (state,):
        found = axis_margins(state, wanted)
        if as_json:
            from vault.jobs.inspect.margin_documents import margins_document

            print_json(margins_document(found))
        else:
            print_margins(found, everything=everything or wanted is not None)


def _over_time(
    ctx: click.Context, selector: str, wanted: str | None, *, everything: bool, as_json: bool
) -> None:
    from vault.cli.printing_margins import print_margin_history
    from vault.jobs.inspect.margin_history import margin_history

    if "@" in selector or selector.startswith("file:"):
        raise click.UsageError("--over-time is about a whole axis: MACHINE/AXIS", ctx)
    with open_vault(ctx) as vault:
        address = vault.require_whole_axis(vault.address(selector))
        timelines = margin_history(vault, address, wanted)
        if as_json:
            from vault.jobs.inspect.margin_documents import margin_history_document

            print_json(margin_history_document(str(address), timelines))
        else:
            print_margin_history(timelines, everything=everything or wanted is not None)
