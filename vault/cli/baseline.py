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
    from vault.jobs.baseline.waiver_request import WaiverRequest
    from vault.model.errors import VaultError
    from vault.store.vault import Vault


@click.group()
def golden() -> None:
    """Golden baselines: the approved state of an axis, and its waivers."""


_ONLY_LOOK = click.option(
    "--only-look", is_flag=True, help="Say what would become of every axis, and write nothing."
)


@golden.command(
    epilog='Example: axisvault golden approve "glaze-line-1/*" --reason "accepted after service"'
)
@click.argument("selector", metavar="PATTERN[@WHEN]")
@click.option("--reason", metavar="TEXT", help="Why this state is the right one.")
@click.option(
    "--accept", multiple=True, metavar="FINDING",
    help="A finding of check that is known and right here, by its name; may be repeated.",
)  # fmt: skip
@click.option(
    "--even-so", "override_reason", metavar="REASON", help="Approve a set that is not whole."
)
@_ONLY_LOOK
@by_option
@json_option
@click.pass_context
def approve(
    ctx: click.Context,
    selector: str,
    reason: str | None,
    accept: tuple[str, ...],
    override_reason: str | None,
    only_look: bool,
    by: str | None,
    as_json: bool,
) -> int:
    """Make a snapshot the golden baseline of its axis, or of each axis that fits a pattern.

    The site's policy (vault.yaml) may want a second person, a reason, or a clean check. Waivers
    that still hold are kept.

    A pattern is like glaze-line-1/* (in quotes). Those that are refused come first, with why; the
    others go together, a commit each. Leaves with 3 where all were refused.
    """
    from vault.jobs.baseline.golden import approve as job
    from vault.jobs.baseline.golden import show as look
    from vault.jobs.baseline.many_axes import is_pattern

    if is_pattern(selector) or only_look:
        return _approve_many(
            ctx, selector, person(by), reason, accept, override_reason,
            only_look=only_look, as_json=as_json,
        )  # fmt: skip
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
    return 0


def _approve_many(
    ctx: click.Context,
    pattern: str,
    by: str,
    reason: str | None,
    accept: tuple[str, ...],
    override_reason: str | None,
    *,
    only_look: bool,
    as_json: bool,
) -> int:
    from vault.cli.printing_baseline import print_many_approved
    from vault.jobs.baseline.many_axes import approve_many, fitting

    with open_vault(ctx) as vault, progress("Judging axes") as update:
        found = approve_many(
            vault, fitting(vault, pattern), by, reason, accept, override_reason,
            looks_only=only_look, progress=update,
        )  # fmt: skip
    if as_json:
        from vault.jobs.baseline.many_documents import many_approved_document

        print_json(many_approved_document(found))
    else:
        print_many_approved(found)
    return _all_refused(len(found.refused), len(found.axes))


def _all_refused(refused: int, axes: int) -> int:
    """The exit code: whoever is refused for one axis of many has the others."""
    from vault.model.errors import Refused

    return Refused.exit_code if refused == axes else 0


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
@click.argument("address", metavar="PATTERN")
@click.argument("code", metavar="CODE")
@click.option(
    "--allow", default="any", show_default=True, metavar="RANGE",
    help='What is allowed: "4.5..6 mm", "..6 mm", "5 mm", a label, or any.',
)  # fmt: skip
@click.option("--until", required=True, metavar="DATE", help="The last day it holds.")
@click.option("--reason", metavar="TEXT", help="Why.")
@_ONLY_LOOK
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
    only_look: bool,
    by: str | None,
    as_json: bool,
) -> int:
    """Allow a parameter to differ from the baseline until a day, on one axis or many.

    CODE is a code or a role. The unit of the range is converted; bounds are allowed themselves.

    A pattern is like glaze-line-1/* (in quotes). Those that are refused come first, with why; the
    others go together, a commit each. Leaves with 3 where all were refused.
    """
    from vault.jobs.baseline.golden import waive as job
    from vault.jobs.baseline.many_axes import is_pattern
    from vault.jobs.baseline.waiver_request import parse_waiver_request

    with open_vault(ctx) as vault:
        request = parse_waiver_request(code, allow=allow, until=until, reason=reason)
        if is_pattern(address) or only_look:
            return _waive_many(
                vault, address, request, person(by), only_look=only_look, as_json=as_json
            )
        place = vault.address(address)
        waiver = job(vault, place, request, person(by))
    if as_json:
        from vault.jobs.baseline.documents import waived_document

        print_json(waived_document(str(place), waiver))
    else:
        echo(f"{place}: {waiver.code} may be {waiver.allow.told} until {waiver.last_day}.")
    return 0


def _waive_many(
    vault: Vault,
    pattern: str,
    request: WaiverRequest,
    by: str,
    *,
    only_look: bool,
    as_json: bool,
) -> int:
    from vault.cli.printing_baseline import print_many_waived
    from vault.jobs.baseline.many_axes import fitting, waive_many

    with progress("Judging axes") as update:
        axes = fitting(vault, pattern)
        found = waive_many(vault, axes, request, by, looks_only=only_look, progress=update)
    if as_json:
        from vault.jobs.baseline.many_documents import many_waived_document

        print_json(many_waived_document(found))
    else:
        print_many_waived(found)
    return _all_refused(len(found.refused), len(found.axes))


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


@golden.command(epilog="Example: axisvault golden waivers --days 60")
@click.option(
    "--days", type=click.IntRange(0), default=30, show_default=True, help="How far to look ahead."
)
@json_option
@click.pass_context
def waivers(ctx: click.Context, days: int, as_json: bool) -> int:
    """List waivers of all axes that end soon, or have ended and still stand in a baseline."""
    from vault.cli.printing_baseline import print_ending_waivers
    from vault.cli.printing_failures import print_failures
    from vault.jobs.baseline.ending_waivers import ending_waivers

    failures: list[VaultError] = []
    with open_vault(ctx) as vault:
        found = ending_waivers(vault, days, failures)
    if as_json:
        from vault.jobs.baseline.waiver_documents import ending_waivers_document

        print_json(ending_waivers_document(found, days))
    else:
        print_ending_waivers(found, days)
    return print_failures(failures)


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
    from vault.jobs.restore.fitted_drift import with_fitted
    from vault.model.names import Address
    from vault.model.wording import plural

    failures: dict[Address, VaultError] = {}
    remarks: list[str] = []
    with open_vault(ctx) as vault:
        with progress("Looking at axes") as update:
            axes = job(vault, place, progress=update, failed=failures.__setitem__)
            axes = with_fitted(vault, axes)
        if alerting:
            remarks = alert(vault, [vault.names.find(Address.parse(axis.axis)) for axis in axes])
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
