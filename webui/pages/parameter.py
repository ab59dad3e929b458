"""One parameter over time: a picture of its steps, and a sentence for every one."""

from __future__ import annotations

from vault.jobs.inspect.history import parameter_history
from vault.jobs.inspect.history_documents import parameter_history_document
from vault.jobs.inspect.parameter_timeline import parameter_timeline
from vault.store.vault import Vault
from webui.page import Page


def parameter(vault: Vault, machine_name: str, axis_name: str, code: str) -> Page:
    """Its values, oldest first."""
    name = f"{machine_name}/{axis_name}"
    address = vault.require_axis(vault.address(name))
    steps = list(parameter_history(vault, address, code))
    latest = next(s.parameter for s in reversed(steps) if s.parameter is not None)
    return Page(
        "parameter.html",
        f"{latest.name}, {name}",
        lambda: parameter_history_document(name, code, steps),
        {
            "steps": steps,
            "latest": latest,
            "timeline": lambda: parameter_timeline(vault, address, steps),
            "address": name,
        },
        (
            ("Site", "/"),
            (machine_name, f"/machine/{machine_name}"),
            (axis_name, f"/axis/{name}"),
        ),
    )
