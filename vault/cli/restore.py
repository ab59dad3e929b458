"""Commands for a swapped drive: plan what to load, check what was."""

from __future__ import annotations

from pathlib import Path

import click

from vault.cli.open_vault import open_vault
from vault.cli.options import by_option, json_option, person, units_option
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo

_FILE = click.Path(path_type=Path)


@click.group()
def restore() -> None:
    """Restore an axis after its drive was swapped.

    A plan prepares the file to load and a sheet to work by; a qualified person loads it with the
    maker's own tool. The check holds the export taken afterwards against the plan.
    """


@restore.command(
    epilog="Example: axisvault restore plan glaze-line-1/lift --out lift-plan"
    " --drive ALD-5A --firmware 2.43.1 --encoder-bits 24+12"
)
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@click.option("--out", required=True, type=_FILE, metavar="DIR", help="A new folder to write.")
@click.option(
    "--nameplate", type=_FILE, metavar="FILE",
    help="What is fitted, as YAML: drive, firmware, motor, rated_torque, …",
)  # fmt: skip
@click.option("--drive", metavar="CODE", help="Order code of the fitted drive.")
@click.option("--firmware", metavar="V", help="Its firmware.")
@click.option("--encoder-bits", metavar="S+M", help="Bits of one turn, and of turns: 24+12, 20.")
@click.option("--motor", metavar="CODE", help="Order code of the fitted motor.")
@click.option("--rated-current", metavar="A", help="Rated current of the motor, as on its plate.")
@click.option("--rated-torque", metavar="NM", help="Rated torque of the motor, as on its plate.")
@click.option("--onto", metavar="FAMILY", help="The fitted drive is of another family.")
@click.option(
    "--adapt", is_flag=True,
    help="Correct for the fitted hardware, and take limits instead of values beyond them.",
)  # fmt: skip
@click.option(
    "--leave", multiple=True, metavar="CODE",
    help="With --adapt: a parameter that is not corrected all the same; may be repeated.",
)  # fmt: skip
@click.option(
    "--even-so", "override_reason", metavar="REASON",
    help="Restore a set that is not whole all the same; stands on the sheet.",
)  # fmt: skip
@by_option
@units_option
@json_option
@click.pass_context
def plan(
    ctx: click.Context,
    /,
    selector: str,
    out: Path,
    nameplate: Path | None,
    onto: str | None,
    adapt: bool,
    leave: tuple[str, ...],
    by: str | None,
    as_json: bool,
    **plates: str | None,
) -> None:
    """Write the load file, plan.json and sheet.html for an axis into a new folder.

    Without WHEN the golden baseline is restored, else the latest snapshot. What is not told of the
    fitted hardware is taken to be as it was. Nothing is ever written to a drive.
    """
    from vault.cli.printing_restore import print_plan
    from vault.jobs.export.content import read_content
    from vault.jobs.restore.plan import make_plan
    from vault.jobs.restore.plan_folder import write_plan
    from vault.jobs.restore.request import parse_plan_request
    from vault.store.files.edited_files import read_replacement

    with open_vault(ctx) as vault:
        known = read_replacement(read_content(nameplate), str(nameplate)) if nameplate else None
        request = parse_plan_request(selector, known, onto=onto, adapt=adapt, leave=leave, **plates)
        made = make_plan(vault, request)
        document, remarks = write_plan(made, out, person(by))
        for remark in remarks:
            echo(f"axisvault: note: {remark}", err=True)
        if as_json:
            print_json(document)
        else:
            print_plan(made, out)


@restore.command(
    epilog='Example: axisvault restore check glaze-line-1/lift lift.dcf --moved "10 mm=10.02 mm"'
    " --work-order WO-1182"
)
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("export", metavar="EXPORT", type=_FILE)
@click.option(
    "--moved", metavar="COMMANDED=MEASURED", help="A short measured move: 10 mm=10.02 mm."
)
@click.option("--trace", type=_FILE, metavar="FILE", help="A move, held to the baseline's.")
@click.option("--move", metavar="NAME", help="With --trace: the name of the move.")
@click.option("--plan", "plan_file", type=_FILE, metavar="FILE", help="plan.json, if not the last.")
@click.option("--family", metavar="NAME", help="Family of the export, where that cannot be told.")
@click.option("--channel", metavar="N", help="Which axis of an export of several.")
@click.option("--node-id", metavar="N", help="What values that refer to the node id are of.")
@click.option("--partial", is_flag=True, help="Leave out what cannot be read, and record that.")
@click.option("--taken-at", metavar="TIME", help="When it was taken; default: now.")
@by_option
@click.option("--work-order", metavar="ID", help="The work order it belongs to.")
@click.option("--note", metavar="TEXT", help="What a reader should know.")
@click.option(
    "--even-so", "override_reason", metavar="REASON", help="Take it in although a guard objects."
)
@units_option
@json_option
@click.pass_context
def check(
    ctx: click.Context,
    address: str,
    export: Path,
    moved: str | None,
    trace: Path | None,
    move: str | None,
    plan_file: Path | None,
    family: str | None,
    channel: str | None,
    node_id: str | None,
    partial: bool,
    taken_at: str | None,
    by: str | None,
    work_order: str | None,
    note: str | None,
    override_reason: str | None,
    as_json: bool,
) -> int:
    """Take in EXPORT as the as-left state, and say whether the axis is restored.

    Leaves with 1 where it is not.
    """
    from vault.cli.printing_restore import print_checked
    from vault.jobs.restore.check import check_restore
    from vault.jobs.restore.motion import motion_file
    from vault.jobs.restore.request import parse_as_left

    with open_vault(ctx) as vault:
        visit = parse_as_left(
            person(by), taken_at=taken_at, work_order=work_order, note=note, family=family,
            channel=channel, override_reason=override_reason, node_id=node_id, partial=partial,
            moved=moved,
        )  # fmt: skip
        place = vault.require_whole_axis(vault.address(address))
        motion = motion_file(vault, place, trace, move, taken_at) if trace is not None else None
        checked = check_restore(vault, place, export, visit, plan_file=plan_file, motion=motion)
        for warning in checked.notes:
            echo(f"axisvault: note: {warning}", err=True)
        if as_json:
            from vault.jobs.restore.documents import restore_check_document

            print_json(restore_check_document(checked))
        else:
            print_checked(checked)
    return 0 if checked.is_restored else 1


@restore.command(
    "sign-off", epilog="Example: axisvault restore sign-off glaze-line-1/lift --by 'Yara Okonjel'"
)
@click.argument("address", metavar="MACHINE/AXIS")
@click.option(
    "--even-so",
    "override_reason",
    metavar="REASON",
    help="Why the axis may run although something is left.",
)
@by_option
@json_option
@click.pass_context
def sign_off(
    ctx: click.Context, address: str, override_reason: str | None, by: str | None, as_json: bool
) -> None:
    """Answer for a restore that is done: by name, on the as-left export that was checked.

    It says that the parameters are right. It replaces no validation of the machine's safety
    functions, and no permit to run.
    """
    from vault.jobs.restore.sign_off import sign_off as job
    from vault.jobs.restore.sign_off import unticked

    with open_vault(ctx) as vault:
        place = vault.address(address)
        record = job(vault, place, person(by), override_reason)
        if left := unticked(vault, vault.require_axis(place)):
            echo(f"axisvault: note: {left}", err=True)
    if as_json:
        from vault.jobs.restore.documents import signed_off_document

        print_json(signed_off_document(str(place), record))
    else:
        echo(f"{place}: the restore is signed off (plan {record.number}).")


@restore.command("list", epilog="Example: axisvault restore list --json")
@json_option
@click.pass_context
def list_plans(ctx: click.Context, as_json: bool) -> None:
    """Plans that were made and not signed off, each with what is to be done next."""
    from vault.cli.printing_restore import print_open_plans
    from vault.jobs.restore.open_plans import open_plans

    with open_vault(ctx) as vault:
        plans = open_plans(vault)
    if as_json:
        from vault.jobs.restore.documents import open_plans_document

        print_json(open_plans_document(plans))
    else:
        print_open_plans(plans)
