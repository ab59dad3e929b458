"""How baselines and drift look on a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.cli.printing import COLOURS, MARKS
from vault.cli.printing_tables import print_coverage, print_remarks, print_table, print_wrapped
from vault.cli.terminal import echo, secho
from vault.jobs.baseline import many_axes
from vault.jobs.baseline.axis_drift import counted_axes
from vault.meaning.drift import in_force
from vault.meaning.floors import counted
from vault.model.wording import plural
from vault.model.written_form import day_text, minute_text
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.jobs.baseline.axis_drift import AxisDrift, Status
    from vault.jobs.baseline.ending_waivers import EndingWaiver
    from vault.jobs.baseline.export_intervals import ManyIntervals
    from vault.jobs.baseline.golden import Baseline
    from vault.jobs.baseline.many_axes import ManyApproved, ManyWaived
    from vault.model.errors import VaultError
    from vault.model.golden import Waiver

_STATUS: dict[Status, tuple[str, str | None]] = {
    "drifted": ("drifted", "red"),
    "overdue": ("export overdue", "yellow"),
    "no_golden": ("no golden baseline", None),
    "in_line": ("in line", "green"),
}
_MOST = 8


def print_drift(axes: Sequence[AxisDrift], *, everything: bool) -> None:
    """Axes that need somebody with what drifted; the others counted, or listed."""
    for axis in axes:
        if _is_shown(axis, axes, everything):
            _print_axis(axis, most=1000 if everything or len(axes) == 1 else _MOST)
    counts = Counter(axis.status for axis in axes if not axis.retired)
    told = [f"{counts[status]} {_STATUS[status][0]}" for status in _STATUS if counts[status]]
    if unkept := sum(bool(axis.floors) and not axis.retired for axis in axes):
        told.append(f"{unkept} with floors that are not kept")
    if retired := sum(axis.retired for axis in axes):
        told.append(f"{retired} retired")
    echo(
        f"{counted_axes([axis.axis for axis in axes])}: {', '.join(told)}."
        if axes
        else "No axes yet."
    )
    if unseen := [a.axis for a in axes if a.remarks and not _is_shown(a, axes, everything)]:
        rest = counted_axes(unseen, "other", ("rests", "rest"))
        print_wrapped(f"{rest} on sets that are not whole, or may not be: --all says which.")


def _is_shown(axis: AxisDrift, axes: Sequence[AxisDrift], everything: bool) -> bool:
    """Whether an axis is told one by one: an only one also where its sets are not whole."""
    return axis.needs_attention or everything or (len(axes) == 1 and bool(axis.remarks))


def _print_axis(axis: AxisDrift, most: int) -> None:
    words, colour = _STATUS[axis.status]
    secho(f"{axis.axis}: {words}{', retired' * axis.retired}", fg=colour, bold=True, nl=False)
    if axis.count:
        echo(f", {plural(axis.count, 'parameter')}", nl=False)
    if axis.floors:
        secho(f", {counted(axis.floors)}", fg="red", nl=False)
    echo(f" since {minute_text(axis.since)}" if axis.since else "")
    if axis.follows:
        echo(f"   It follows the baseline of {axis.follows}.")
    if axis.overdue:
        echo(f"   {_overdue(axis)}")
    print_remarks(axis.remarks, "   ")
    for one in axis.floors:
        mark, colour = MARKS[one.consequence], COLOURS.get(one.consequence)
        secho(f"{mark} {one.consequence}", fg=colour, nl=False)
        echo(f"  margins.{one.name}")
        print_wrapped(f"   {one.sentence}")
    for cause in axis.causes:
        print_wrapped(f"   {cause}")
    for deviation in axis.changes[:most]:
        change, waiver = deviation.change, deviation.waiver
        mark, colour = MARKS[change.consequence], COLOURS.get(change.consequence)
        secho(f"{mark} {change.consequence}", fg=colour, nl=False)
        echo(f"  {change.shown.code}")
        print_wrapped(f"   {change.explanation}")
        if waiver is not None:
            echo(f"   Its waiver ({waiver.allow.told}) ended on {waiver.last_day}.")
        if (awaits := axis.awaits_approval(deviation)) is not None:
            print_wrapped(f"   {awaits}")
    if (more := axis.count - most) > 0:
        echo(f"   and {more} more: axisvault drift {axis.axis}")
    for deviation in axis.waived:
        if (waiver := deviation.waiver) is not None:
            name = waiver.by.partition(" <")[0]
            print_wrapped(
                f"   Waived until {waiver.last_day} by {name} ({waiver.reason}): "
                f"{deviation.change.explanation}"
            )
    for sentence in axis.hardware:
        print_wrapped(f"   Other hardware: {sentence}")
    echo()


def _overdue(axis: AxisDrift) -> str:
    if axis.due is None or axis.taken_at is None:
        return "It was never exported."
    latest = minute_text(axis.taken_at)
    return f"An export was due on {day_text(axis.due)}; the latest is of {latest}."


def print_golden(baseline: Baseline) -> None:
    """The baseline that holds for an axis, and its waivers."""
    secho(str(baseline.address), bold=True)
    if baseline.follows:
        echo(f"It follows the baseline of {baseline.follows}.")
    approval = baseline.approval
    if approval is None:
        echo("No golden baseline is approved.")
    else:
        name = approval.by.partition(" <")[0]
        echo(
            f"Golden is snapshot {approval.snapshot[:10]}, approved by {name} "
            f"on {minute_text(approval.at)}."
        )
        if approval.reason:
            print_wrapped(f"Reason: {approval.reason}")
        if baseline.state is not None:
            print_coverage(baseline.state)
        for warning in baseline.warnings:
            print_wrapped(f"!! {warning}.")
        if approval.override_reason:
            print_wrapped(f"Approved all the same: {approval.override_reason}")
        for rule, sentences in approval.accepted.items():
            for sentence in sentences:
                print_wrapped(f"Accepted ({rule}): {sentence}")
    if baseline.golden.waivers:
        echo()
        print_table(
            ["waived", "allowed", "until", "by", "reason"],
            [_waiver_row(waiver) for waiver in baseline.golden.waivers],
        )


def _waiver_row(waiver: Waiver) -> list[str]:
    ended = "" if in_force(waiver, now()) else " (ended)"
    name = waiver.by.partition(" <")[0]
    allowed = waiver.allow.told
    if waiver.allow.unknown:
        allowed += f" ({waiver.allow.unknown})"
    return [waiver.code, allowed, f"{waiver.last_day}{ended}", name, waiver.reason]


def print_ending_waivers(found: Sequence[EndingWaiver], days: int) -> None:
    """Waivers of all axes that end soon, or have ended."""
    if found:
        print_table(
            ["axis", "waived", "allowed", "until", "by", "reason"],
            [[str(one.axis), *_waiver_row(one.waiver)] for one in found],
        )
    else:
        echo(f"No waiver has ended, and none ends within {plural(days, 'day')}.")


def print_many_approved(found: ManyApproved) -> None:
    """Who is refused first, with why; then who is approved, and the count of all."""
    for axis in found.refused:
        _print_refused(axis.axis, axis.refusal)
    for axis in found.approved:
        approval = axis.golden.approval if axis.golden is not None else None
        if approval is not None:
            accepted = f"; accepted: {', '.join(approval.accepted)}" if approval.accepted else ""
            echo(f"{axis.axis}: snapshot {approval.snapshot[:10]}{accepted}")
    told = found.approved, "approved", found.refused, found.already
    echo(many_axes.counted(*told, looked_only=found.looked_only))


def print_many_waived(found: ManyWaived) -> None:
    """Who is refused first, with why; then who got a waiver, and the count of all."""
    for axis in found.refused:
        _print_refused(axis.axis, axis.refusal)
    for axis in found.waived:
        if (waiver := axis.waiver) is not None:
            echo(f"{axis.axis}: {waiver.code} may be {waiver.allow.told} until {waiver.last_day}")
    told = found.waived, "waived", found.refused
    echo(many_axes.counted(*told, looked_only=found.looked_only))


def _print_refused(axis: str, refusal: VaultError | None) -> None:
    secho("refused", fg="red", bold=True, nl=False)
    echo(f"  {axis}")
    print_wrapped(f"   {refusal}")


def print_many_intervals(found: ManyIntervals) -> None:
    """Refused axes first, each with why; then those whose record has the interval by now."""
    for axis in found.refused:
        print_wrapped(f"refused  {axis.axis}: {axis.refusal}")
    for axis in found.changed:
        before = axis.before or "as the site says"
        done = "would be" if found.looked_only else "is"
        echo(f"{axis.axis}: an export {done} due every {found.every}; before: {before}.")
    if found.already:
        echo(f"{plural(len(found.already), 'axis has', 'axes have')} it already.")
