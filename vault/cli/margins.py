"""The command about margins: what an axis has, held against what it must cover."""

from __future__ import annotations

import click

from vault.cli.options import file_options, json_option, units_option
from vault.cli.printing_json import print_json
from vault.cli.reading import reading


@click.command(epilog="Example: axisvault margins glaze-line-1/lift")
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@click.option("--margin", "wanted", metavar="NAME", help="Only the margin of that name.")
@click.option("--all", "everything", is_flag=True, help="Also each formula, and what it rests on.")
@file_options
@units_option
@json_option
@click.pass_context
def margins(
    ctx: click.Context,
    selector: str,
    wanted: str | None,
    everything: bool,
    family: str | None,
    channel: int | None,
    as_json: bool,
) -> None:
    """Hold what an axis has against what it must cover: room against a stop, torque against a load.

    1 is the edge. Worst first; what cannot be told comes last, with what to enter. WHEN is as in
    show; file:PATH stands for an export on disk.
    """
    from vault.cli.printing_margins import print_margins
    from vault.jobs.inspect.margins import axis_margins

    with reading(ctx, [selector], family, channel) as (state,):
        found = axis_margins(state, wanted)
        if as_json:
            from vault.jobs.inspect.margin_documents import margins_document

            print_json(margins_document(found))
        else:
            print_margins(found, everything=everything or wanted is not None)
