"""One parameter over time: a picture of its steps, and a sentence for every one."""

from __future__ import annotations

from vault.jobs.as_json_history import steps_json
from vault.jobs.history import parameter_history
from vault.model.names import Address
from vault.store.vault import Vault
from webui.page import Page
from webui.pictures import Point


def parameter(vault: Vault, machine_name: str, axis_name: str, code: str) -> Page:
    """Its values, oldest first."""
    name = f"{machine_name}/{axis_name}"
    address = vault.needed_axis(Address.parse(name))
    steps = list(parameter_history(vault, address, code))
    shown = next(s.parameter for s in reversed(steps) if s.parameter is not None)
    points = [
        Point(s.snapshot.record.taken_at, float(s.parameter.value), s.reading.told)
        for s in steps
        if s.parameter is not None
        and s.reading is not None
        and not isinstance(s.parameter.value, str)
        and s.parameter.label is None
    ]
    return Page(
        "parameter.html",
        f"{shown.name}, {name}",
        lambda: steps_json(name, code, steps),
        {"steps": steps, "shown": shown, "points": points, "address": name},
        (
            ("Site", "/"),
            (machine_name, f"/machine/{machine_name}"),
            (axis_name, f"/axis/{name}"),
        ),
    )
