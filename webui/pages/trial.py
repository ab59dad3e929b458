"""Trials of an axis: the form to fill in at it, and what one came to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import request

from vault.jobs.trials.documents import trial_document, trial_form_document
from vault.jobs.trials.form import CAUTIONS, suggested_text, trial_form
from vault.jobs.trials.kept import result_of, results_of, trial_named
from vault.jobs.trials.typed import HOMINGS, MOVES, STOPS, add_typed, typed_fields
from vault.model.trial import RESULTS
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.visitors import may

if TYPE_CHECKING:
    from vault.jobs.trials.form import TrialForm
    from vault.model.accounts import Account

FIELDS = typed_fields()
"""Every field of the form, with what it takes."""
RESULT_WORDS = {
    "ok": "right", "failed": "failed", "not_done": "not done", "not_there": "not there",
}  # fmt: skip
OUTCOME_WORDS = {"passed": "✓ passed", "failed": "failed", "told": "· told", "open": "open"}


def new_trial(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The form: one question after the other, in the safe order; and the trials before."""
    form = trial_form(vault, vault.address(f"{machine_name}/{axis_name}"))
    problems: list[str] = []
    return Page(
        "trial_form.html",
        f"Trial of {form.address}",
        lambda: trial_form_document(form, CAUTIONS),
        {
            "address": form.address,
            "form": form,
            "cautions": CAUTIONS,
            "suggested": _suggested(form),
            "rows": {"moves": MOVES, "home": HOMINGS, "stops": STOPS},
            "results": RESULTS,
            "result_words": RESULT_WORDS,
            "before": list(results_of(vault, form.address, problems)),
            "problems": problems,
            "is_allowed": may("technician"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def _suggested(form: TrialForm) -> dict[str, str]:
    """What stands in fields before anybody types."""
    found = {f"moves.{n}.commanded": suggested_text(move) for n, move in enumerate(form.moves)}
    found |= {f"stops.{n}.from": suggested_text(stop.speed) for n, stop in enumerate(form.stops)}
    if form.allowed is not None:
        found["home.allowed"] = suggested_text(form.allowed)
    return found


def add_new_trial(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Keep what was typed, and go on to what it came to."""
    form = trial_form(vault, vault.address(f"{machine_name}/{axis_name}"))
    typed = {name: text for name, text in request.form.items() if name in FIELDS}
    result = add_typed(vault, form, typed, account.person)
    document = trial_document(result)
    then = (("The axis", f"/axis/{result.address}"),)
    words = f"The trial is kept. {result.verdict.summary}"
    return FormResult(document["address"], words, document, then)


def trial(vault: Vault, machine_name: str, axis_name: str, name: str) -> Page:
    """A trial with what every check came to, and what is open."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    result = result_of(vault, address, trial_named(vault, address, name))
    return Page(
        "trial.html",
        f"Trial of {address}, {result.trial.name}",
        lambda: trial_document(result),
        {
            "address": address,
            "result": result,
            "verdict": result.verdict,
            "outcome_words": OUTCOME_WORDS,
        },
        (*axis_crumbs(machine_name, axis_name), ("Trials", f"/axis/{address}/trial")),
    )
