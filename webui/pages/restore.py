"""Restoring an axis: what a plan would hold, and its sheet. Files are written by the command."""

from __future__ import annotations

from flask import Response

from vault.jobs.as_json_restore import plan_json
from vault.jobs.restore_plan import RestorePlan, make_plan
from vault.jobs.restore_sheet import sheet_html
from vault.model.replacement import Replacement
from vault.store.vault import Vault
from webui.page import Page, asked, selector

_SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def _plan(vault: Vault, name: str) -> RestorePlan:
    when = asked("when")
    wanted = selector(f"{name}@{when}" if when else name)
    told = {key: asked(key) for key in ("drive", "firmware", "motor")}
    fitted = Replacement.model_validate({key: text for key, text in told.items() if text})
    return make_plan(vault, wanted, fitted, onto=asked("onto"), adapt=asked("adapt") is not None)


def restore(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """Target, hardware, what has to be decided, and how to go on."""
    name = f"{machine_name}/{axis_name}"
    plan = _plan(vault, name)
    return Page(
        "restore.html",
        f"Restore {name}",
        lambda: plan_json(plan),
        {"plan": plan, "address": name},
        (("Site", "/"), (machine_name, f"/machine/{machine_name}"), (axis_name, f"/axis/{name}")),
    )


def sheet(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The sheet itself, to be printed or carried on a phone."""
    plan = _plan(vault, f"{machine_name}/{axis_name}")
    answer = Response(sheet_html(plan), mimetype="text/html")
    answer.headers["Content-Security-Policy"] = _SHEET_POLICY
    return Page("", "", lambda: plan_json(plan), raw=answer)
