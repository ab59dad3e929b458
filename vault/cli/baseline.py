"""Commands about golden baselines and drift."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from vault.cli.long_work import progress
from vault.cli.open_vault import open_vault
from vault.cli.options import CHANGE_MARKS, by_option, json_option, person
from vault.cli.printing_json import print_json
from vault.cli.terminal import echo

if TYPE_CHECKING:
    from vault.model.errors import VaultError


@click.group()
def golden() -> None:
    """Golden baselines: the approved state of an axis, and its waivers."""


@golden.command(
    epilog='Example: axisvault golden approve glaze-line-1/lift --reason "accepted after service"'
)
@click.argument("selector", metavar="MACHINE/AXIS[@WHEN]")
@click.option("--reason", metavar="TEXT", help="Why this state is the right one.")
@click.option(
    "--accept", multiple=True, metavar="FINDING",
    help="A finding of check that is known and right here, by its name; may be repeated.",
)  # fmt: skip
@click.option(
    "--even-so", "override_reason", metavar="REASON", help="Approve a set that is not whole."
)
@by_option
@json_option
@click.pass_context
def approve(
    ctx: click.Context,
    selector: str,
    reason: str | None,
    accept: tuple[str, ...],
    override_reason: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Make a snapshot the golden baseline of its axis.

    The site's policy (vault.yaml) may want a second person, a reason, or a clean check. Waivers
    that still hold are kept.
    """
    from vault.jobs.baseline.golden import approve as job
    from vault.jobs.baseline.golden import show as look

    with open_vault(ctx) as vault:
        job(vault, selector, person(by), reason, accept, override_reason)
        baseline = look(vault, vault.address(selector.partition("@")[0]))
        for warning in baseline.warnings:
            echo(f"axisvault: note: {warning}", err=True)
        if as_json:
            from vault.jobs.baseline.documents import golden_document

            print_json(golden_document(baseline))
        elif baseline.approval is not None:
            echo(f"{baseline.address}: snapshot {baseline.approval.snapshot[:10]} is golden.")


@golden.command(epilog="Example: axisvault golden show glaze-line-1/lift")
@click.argument("address", metavar="MACHINE/AXIS")
@json_option
@click.pass_context
def show(ctx: click.Context, address: str, as_json: bool) -> None:
    """Show the baseline that holds for an axis, and its waivers."""
    from vault.cli.printing_baseline import print_golden
    from vault.jobs.baseline.golden import show as job

    with open_vault(ctx) as vault:
        baseline = job(vault, vault.address(address))
        if as_json:
            from vault.jobs.baseline.documents import golden_document

            print_json(golden_document(baseline))
        else:
            print_golden(baseline)


@golden.command(
    epilog='Example: axisvault golden waive glaze-line-1/lift 0x6065:00 --allow "4.5..6 mm"'
    ' --until 2026-12-31 --reason "worn screw, new one ordered"'
)
@click.argument("address", metavar="MACHINE/AXIS")
@click.argument("code", metavar="CODE")
@click.option(
    "--allow", default="any", show_default=True, metavar="RANGE",
    help='What is allowed: "4.5..6 mm", "..6 mm", "5 mm", a label, or any.',
)  # fmt: skip
@click.option("--until", required=True, metavar="DATE", help="The last day it holds.")
@click.option("--reason", metavar="TEXT", help="Why.")
@by_option
@json_option
@click.pass_context
def waive(
    ctx: click.Context,
    address: str,
    code: str,
    allow: str,
    until: str,
    reason: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Allow a parameter to differ from the baseline until a day.

    CODE is a code or a role. The unit of the range is converted; bounds are allowed themselves.
    """
    from vault.jobs.baseline.golden import waive as job
    from vault.jobs.baseline.waiver_request import parse_waiver_request

    request = parse_waiver_request(code, allow=allow, until=until, reason=reason)
    with open_vault(ctx) as vault:
        place = vault.address(address)
        waiver = job(vault, place, request, person(by))
    if as_json:
        from vault.jobs.baseline.documents import waived_document

        print_json(waived_document(str(place), waiver))
    else:
        echo(f"{place}: {waiver.code} may be {waiver.allow.text} until {waiver.until}.")


@golden.command(epilog="Example: axisvault golden withdraw glaze-line-1/lift --waiver 0x6065:00")
@click.argument("address", metavar="MACHINE/AXIS")
@click.option("--waiver", metavar="CODE", help="Only the waiver for this parameter.")
@click.option("--reason", metavar="TEXT", help="Why.")
@by_option
@json_option
@click.pass_context
def withdraw(
    ctx: click.Context,
    address: str,
    waiver: str | None,
    reason: str | None,
    by: str | None,
    as_json: bool,
) -> None:
    """Take the baseline of an axis back with its waivers, or one waiver only."""
    from vault.jobs.baseline.golden import withdraw as job

    with open_vault(ctx) as vault:
        place = vault.address(address)
        job(vault, place, person(by), reason, waiver)
    if as_json:
        from vault.jobs.baseline.documents import withdrawn_document

        print_json(withdrawn_document(str(place), waiver))
    else:
        echo(f"{place}: {f'the waiver for {waiver}' if waiver else 'the baseline'} is gone.")


@click.command(epilog=f"{CHANGE_MARKS}\n\nExample: axisvault drift glaze-line-1 --alert")
@click.argument("place", metavar="[MACHINE[/AXIS]]", required=False)
@click.option("--all", "everything", is_flag=True, help="Also axes that are in line.")
@click.option(
    "--alert", "alerting", is_flag=True,
    help="Send what is new since the last alert by the channels in vault.yaml.",
)  # fmt: skip
@json_option
@click.pass_context
def drift(
    ctx: click.Context, place: str | None, everything: bool, alerting: bool, as_json: bool
) -> int:
    """Hold the latest snapshots against their golden baselines.

    Leaves with 1 where an axis drifted, an export is overdue, or a floor is not kept. An axis
    whose drift cannot be told is reported, and does not hold up the others.
    """
    from vault.cli.printing_baseline import print_drift
    from vault.jobs.alerts.raise_alerts import alert, unsent
    from vault.jobs.baseline.drift import drift as job
    from vault.model.names import Address
    from vault.model.wording import plural

    failures: dict[Address, VaultError] = {}
    remarks: list[str] = []
    with open_vault(ctx) as vault:
        with progress("Looking at axes") as update:
            axes = job(vault, place, progress=update, failed=failures.__setitem__)
        if alerting:
            remarks = alert(vault, [vault.address(axis.axis) for axis in axes])
            if not vault.site_record.alerts:
                remarks.append("vault.yaml has no channel that an alert could be sent by")
        left = unsent(vault.state)
    for address, failure in failures.items():
        echo(f"axisvault: the drift of {address} cannot be told: {failure}", err=True)
    for remark in remarks:
        echo(f"axisvault: note: {remark}", err=True)
    if left:
        messages = plural(left, "alert has", "alerts have")
        echo(f"axisvault: note: {messages} not gone out: axisvault alerts list", err=True)
    if as_json:
        from vault.jobs.baseline.documents import drift_document

        print_json(drift_document(axes, failures))
    else:
        print_drift(axes, everything=everything)
    needed = any(axis.needs_attention for axis in axes)
    return max((failure.exit_code for failure in failures.values()), default=int(needed))
