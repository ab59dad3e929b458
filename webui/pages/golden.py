"""The golden baseline of an axis: what is approved, what is waived, and changing either."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from flask import request

from vault.jobs.baseline.documents import golden_document
from vault.jobs.baseline.golden import approve, show, waive, withdraw
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.restore.fitted_drift import fitted_drift_of
from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import resolve
from vault.jobs.state.whole_set import taken_in_although, why_not_whole
from vault.jobs.trials.required import trial_objection
from vault.meaning.drift import in_force
from vault.model.errors import WrongUsage
from vault.model.written_form import day_text
from vault.store.clock import now
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, query_arg, required_field, selector
from webui.visitors import may

if TYPE_CHECKING:
    from vault.model.accounts import Account

_USUAL_WAIVER = timedelta(days=90)


def golden(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The baseline that holds, how the axis stands to it, and its waivers."""
    address = vault.address(f"{machine_name}/{axis_name}")
    baseline = show(vault, address)
    latest = vault.latest(address)
    chosen = (
        resolve(vault, selector(f"{address}@{query_arg('when') or 'latest'}")) if latest else None
    )
    return Page(
        "golden.html",
        f"Golden baseline of {address}",
        lambda: golden_document(baseline),
        {
            "baseline": baseline,
            "address": address,
            "chosen": chosen,
            "stands": fitted_drift_of(vault, address) if latest else None,
            "complaints": check_state(chosen) if chosen else [],
            "although": taken_in_although(chosen) if chosen else None,
            "not_whole": why_not_whole(chosen) if chosen else None,
            "untried": trial_objection(vault, chosen) if chosen else None,
            "policy": vault.site_record.approval,
            "holds": lambda waiver: in_force(waiver, now()),
            "until": day_text(now() + _USUAL_WAIVER),
            "is_allowed": may("approver"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def change_golden(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Approve a snapshot, waive a parameter, or take either back."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    by, reason = account.person, form_field("reason")
    then = ("The axis", f"/axis/{address}")
    match required_field("do"):
        case "approve":
            when = required_field("when")
            accepted = request.form.getlist("accept")
            override_reason = form_field("even_so")
            approve(vault, f"{address}@{when}", by, reason, accepted, override_reason)
            words = f"Snapshot {when[:10]} is golden."
            then = ("Axes with nothing approved", "/?state=no_golden")
        case "waive":
            waiver = parse_waiver_request(
                form_field("code"),
                allow=form_field("allow"),
                until=form_field("until"),
                reason=reason,
            )
            made = waive(vault, address, waiver, by)
            words = f"{made.code} may be {made.allow.told} until {made.last_day}."
            then = ("Waivers that end", "/waivers")
        case "withdraw-waiver":
            code = required_field("code")
            withdraw(vault, address, by, reason, code)
            words = f"The waiver for {code} is gone."
        case "withdraw":
            withdraw(vault, address, by, reason)
            words = "The baseline is withdrawn, with its waivers."
            then = ("Approve another state from the logbook", f"/axis/{address}#logbook")
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")
    document = golden_document(show(vault, address))
    return FormResult(f"/axis/{address}/golden", words, document, (then,))
