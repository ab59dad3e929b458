"""How restore plans and their checks look on a terminal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from vault.cli.printing import MARKS
from vault.cli.printing_tables import print_remarks, print_wrapped, taken_text
from vault.cli.terminal import echo, secho
from vault.meaning.controller_side import MISFIT
from vault.meaning.sentences import value_text
from vault.model.wording import capitalised, plural
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.jobs.restore.check import Checked
    from vault.jobs.restore.open_plans import OpenPlan
    from vault.jobs.restore.plan import RestorePlan
    from vault.jobs.restore.unproven import Unproven
    from vault.jobs.restore.verdict import Remaining
    from vault.meaning.checks import Complaint

_MOST = 12


def print_plan(plan: RestorePlan, out: Path) -> None:
    """What was planned, what a person has to decide, and what comes next."""
    record = plan.target.record
    taken = f", {taken_text(record)}" if record is not None else ""
    secho(f"Restore plan {plan.number} for {plan.address}", bold=True)
    print_wrapped(f"Target: {plan.chosen}{taken}")
    print_remarks(plan.remarks)
    for warning in plan.warnings:
        print_wrapped(f"!! {warning}")
    for line in plan.hardware.lines:
        if line.verdict not in ("same", "not_told"):
            print_wrapped(f"{line.item}: {line.kept or 'not recorded'} became {line.fitted}.")
            for sentence in line.sentences:
                print_wrapped(f"   {sentence}")
    for row in plan.hardware.corrections:
        verb = "Would be corrected (--adapt)" if row.target.code in plan.left else "Corrected"
        after = value_text(row.loaded or row.offered)
        print_wrapped(
            f"   {verb}: {row.target.name} ({row.target.code}), {value_text(row.target)} to "
            f"{after}: {row.reason}."
        )
    _print_open(plan)
    if (file := plan.load_file) is not None:
        kind = "the kept export, byte for byte" if file.is_kept else f"new, as {plan.not_kept}"
        print_wrapped(f"Load file: {out / file.name} ({kind})")
    else:
        print_wrapped(f"No load file: {plan.not_kept}.")
    echo(f"Sheet:     {out / 'sheet.html'}")
    echo()
    echo("When it is loaded and the drive restarted, export again, and have it proven:")
    echo(f'  axisvault restore check {plan.address} EXPORT --moved "COMMANDED=MEASURED"')


def _print_open(plan: RestorePlan) -> None:
    rows = plan.open_rows
    if rows:
        echo(f"{plural(len(rows), 'setting')} not in the load file, to be decided:")
    for row in rows[:_MOST]:
        print_wrapped(
            f"{MARKS[row.consequence]} {row.target.name} ({row.target.code}), "
            f"{value_text(row.target)}: {row.reason}."
        )
    if len(rows) > _MOST:
        echo(f"   and {len(rows) - _MOST} more; the sheet lists them all.")
    for line, named in plan.left_out:
        what = f"{named}, " if named else ""
        print_wrapped(f"!! Left out, to be set by hand: {what}line {line.line}, {line.text}")
    if safety := plan.never("safety"):
        print_wrapped(
            f"{plural(len(safety), 'safety-function parameter')} never prepared: to be set and "
            "validated by the machine's own procedure."
        )


def print_open_plans(plans: Sequence[OpenPlan]) -> None:
    """Open plans, newest first, two lines each."""
    if not plans:
        echo("No restore is open.")
    for plan in plans:
        record = plan.record
        secho(f"{plan.address}  {record.number}", bold=True)
        made = f"{minute_text(record.made_at)} by {record.by.partition(' <')[0]}"
        print_wrapped(f"   made {made}; next: {plan.next_step}.")


def print_checked(checked: Checked) -> None:
    """The verdict first, then what is left to do, worst first."""
    verdict = f"{checked.address} is restored." if checked.is_restored else _not_yet(checked)
    secho(verdict, bold=True)
    for limit in checked.limits:
        print_wrapped(f"!! {limit}")
    print_remarks(checked.coverage.told("As-left export"))
    plan = f"plan {checked.plan.number}" if checked.plan is not None else "no plan was made"
    echo(f"Snapshot {checked.snapshot.id[:10]} against {checked.target.name} ({plan}).")
    for told in checked.motion.sentences:
        print_wrapped(told)
    if checked.travel is not None:
        print_wrapped(checked.travel.sentence)
        for suspect in checked.travel.suspects:
            print_wrapped(f"   {suspect.code or '-'}: {suspect.explanation}")
    else:
        echo("No measured move was given: what the axis really does is not proven.")
    _print_remaining(checked.left_over.differences)
    if checked.left_over.safety:
        secho("Safety functions, validated apart:", bold=True)
        _print_remaining(checked.left_over.safety)
    _print_misfits(checked.misfits)
    _print_unproven(checked.unproven)
    if checked.left_over.ignored:
        reasons: dict[str, int] = {}
        for allowed in checked.left_over.ignored:
            reasons[allowed.reason] = reasons.get(allowed.reason, 0) + 1
        echo(f"May differ, {plural(len(checked.left_over.ignored), 'parameter')}:")
        for reason, count in reasons.items():
            print_wrapped(f"   {count} x {reason}")


def _print_misfits(misfits: Sequence[Complaint]) -> None:
    if misfits:
        secho(f"{capitalised(MISFIT)}:", bold=True)
    for one in misfits:
        secho(f"{MARKS[one.consequence]} {one.consequence}", bold=True, nl=False)
        echo(f"  {one.rule}")
        print_wrapped(f"   {one.sentence}")
        print_wrapped(f"   See {'; '.join(one.look_at)}.")


def _print_unproven(unproven: Sequence[Unproven]) -> None:
    if unproven:
        echo(f"Not proven, {plural(len(unproven), 'parameter')}:")
    for one in unproven[:_MOST]:
        code = f" ({one.code})" if one.code else ""
        print_wrapped(f"   {one.name}{code}: {one.reason}.")
    if len(unproven) > _MOST:
        echo(f"   and {len(unproven) - _MOST} more; --json lists them all.")


def _not_yet(checked: Checked) -> str:
    parts = []
    if checked.left_over.differences:
        parts.append(plural(len(checked.left_over.differences), "difference"))
    if checked.left_over.safety:
        parts.append(plural(len(checked.left_over.safety), "safety-function parameter"))
    if not checked.moved_right:
        parts.append("the measured move")
    if not checked.motion.as_it_did:
        parts.append("the trace of its move")
    return f"{checked.address} is NOT restored: {', '.join(parts)}."


def _print_remaining(remaining: Sequence[Remaining]) -> None:
    for difference in remaining:
        change = difference.change
        secho(f"{MARKS[change.consequence]} {change.consequence}", bold=True, nl=False)
        echo(f"  {change.shown.code}")
        print_wrapped(f"   {change.explanation}")
        print_wrapped(f"   To do: {difference.to_do}")
