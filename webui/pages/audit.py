"""What happened around a fault, and what explains it."""

from __future__ import annotations

from vault.jobs.as_json_audit import audit_json
from vault.jobs.audit import audit
from vault.jobs.evidence import told_entries
from vault.model.names import Address
from vault.store.clock import parse_time
from vault.store.vault import Vault
from webui.page import Page, asked


def audit_page(vault: Vault) -> Page:
    """`place` is a machine or an axis; `fault`, `at`, `from` and `to` as the command has them."""
    place = asked("place")
    if place is None:
        machines = sorted({axis.machine for axis in vault.axes()})
        return Page(
            "audit_form.html", "After a fault", dict, {"machines": machines}, (("Site", "/"),)
        )
    times = {name: asked(name) for name in ("from", "to", "at")}
    moments = {name: parse_time(text) if text else None for name, text in times.items()}
    found = audit(
        vault,
        place,
        start=moments["from"],
        end=moments["to"],
        code=asked("fault"),
        at=moments["at"],
    )
    crumbs = [("Site", "/")]
    if "/" in place:
        crumbs.append((place, f"/axis/{Address.parse(place)}"))
    return Page(
        "audit.html",
        f"Audit of {place}",
        lambda: audit_json(found),
        {"audit": found, "entries": told_entries(found)},
        tuple(crumbs),
    )
