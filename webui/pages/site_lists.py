"""Lists of the whole site: faults, waivers that end, and alerts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from flask import request

from vault.jobs.alerts.confirm import channels_of
from vault.jobs.alerts.deliver import waiting
from vault.jobs.alerts.documents import alerts_document
from vault.jobs.baseline.ending_waivers import USUAL_DAYS, ending_waivers
from vault.jobs.baseline.waiver_documents import ending_waivers_document
from vault.jobs.faults.documents import site_faults_document
from vault.jobs.faults.of_all_axes import faults_of_all
from vault.model.fault_table import compared_code
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault
from webui.page import Page
from webui.request_fields import count_arg, query_arg
from webui.visitors import may

if TYPE_CHECKING:
    from vault.jobs.alerts.deliver import WaitingMessage
    from vault.model.errors import VaultError

_SITE = (("Site", "/"),)
_MOST = 200
_MOST_ALERTS = 200


def site_faults(vault: Vault) -> Page:
    """The newest faults of all axes; `code` asks for one code."""
    code = query_arg("code")
    failures: list[VaultError] = []
    found, counts = faults_of_all(vault, code, _MOST, failures)
    return Page(
        "site_faults.html",
        f"Faults {code}" if code else "Faults",
        lambda: site_faults_document(found, counts),
        {
            "found": found,
            "counts": counts,
            "code": code,
            "compared_code": compared_code,
            "failures": failures,
            "more": sum(counts.values()) - len(found) if code is None else 0,
        },
        _SITE,
    )


def site_waivers(vault: Vault) -> Page:
    """Waivers that have ended, and those that end within `days`."""
    days = count_arg("days") if "days" in request.args else USUAL_DAYS
    failures: list[VaultError] = []
    found = ending_waivers(vault, days, failures)
    return Page(
        "site_waivers.html",
        "Waivers that end",
        lambda: ending_waivers_document(found, days),
        {
            "days": days,
            "failures": failures,
            "ended": [one for one in found if one.has_ended],
            "ending": [one for one in found if not one.has_ended],
            "is_allowed": may("approver"),
        },
        _SITE,
    )


def site_alerts(vault: Vault) -> Page:
    """Messages about drift of late: what waits, what could not be sent, what went out.

    What a channel answered, and where files lie, is for who runs the vault alone.
    """
    is_admin = may("admin")
    every = waiting(vault.state, channels_of(vault), everything=True)[::-1]
    shown = every if is_admin else [_without_error(one) for one in every]
    set_aside = Outbox.set_aside(vault.state)
    return Page(
        "site_alerts.html",
        "Alerts",
        lambda: alerts_document(shown, set_aside if is_admin else ()),
        {
            "waiting": [one for one in shown if one.message.sent is None],
            "sent": [one for one in shown if one.message.sent is not None][:_MOST_ALERTS],
            "set_aside": len(set_aside),
            "is_set_up": bool(vault.site_record.alerts),
        },
        _SITE,
    )


def _without_error(one: WaitingMessage) -> WaitingMessage:
    return replace(one, message=replace(one.message, error=None))
