"""How trials look on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.cli.printing import MARKS
from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, secho
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.trials.kept import TrialResult
    from vault.meaning.trials.verdict import TrialFinding

_COLOURS = {"failed": "red", "open": "yellow"}
_PASSED, _TOLD, _OPEN = "ok", "..", "??"


def print_result(result: TrialResult) -> None:
    """A trial with what every check came to, and what is open."""
    trial, verdict = result.trial, result.verdict
    secho(
        f"{result.address}: trial of {minute_text(trial.taken_at)} by {trial.by} ({trial.name})",
        bold=True,
    )
    print_wrapped(f"On snapshot {trial.snapshot[:10]}. {verdict.summary}")
    if trial.record.note:
        print_wrapped(trial.record.note)
    for found in verdict.findings:
        print_wrapped(f"{_mark(found)} {found.sentence}")
        for suspect in found.suspects:
            code = f"{suspect.code}: " if suspect.code else ""
            print_wrapped(f"   {code}{suspect.explanation}")
        if found.remark:
            print_wrapped(f"   Remarked: {found.remark}")
    if verdict.open:
        echo()
        echo("Open:")
    for question in verdict.open:
        print_wrapped(f"{_OPEN} {question.ask}")


def _mark(found: TrialFinding) -> str:
    if found.outcome == "failed":
        return MARKS[found.consequence]
    return _PASSED if found.outcome == "passed" else _TOLD


def print_results(results: Sequence[TrialResult]) -> None:
    """The trials of an axis, a line each and what they came to."""
    for result in results:
        trial, verdict = result.trial, result.verdict
        line = f"{trial.name}  {minute_text(trial.taken_at)}  {verdict.standing}  {trial.by}"
        secho(line, fg=_COLOURS.get(verdict.standing))
        print_wrapped(f"   {verdict.summary}")
    if not results:
        echo("There is no trial.")
