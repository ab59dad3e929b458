"""One machine against another: a card for each pair of axes, the worst first."""

from __future__ import annotations

from vault.jobs.records.machines import recorded_pairing
from vault.jobs.state.compare_machines import closest_machines, compare_machines, pairing_from
from vault.jobs.state.compare_machines_documents import machines_document
from vault.store.vault import Vault
from webui.page import Page
from webui.request_fields import query_arg


def machines_page(vault: Vault, left: str, right: str) -> Page:
    """`pair` names axes that pair under two names, as `lift=hoist, slide=mast`."""
    pairing = query_arg("pair")
    compared = compare_machines(
        vault, left, right, pairing_from([pairing or ""]) or recorded_pairing(vault, left, right)
    )
    return Page(
        "machines.html",
        f"{left} and {right}",
        lambda: machines_document(compared),
        {"compared": compared, "pairing": pairing},
        (("Site", "/"), (left, f"/machine/{left}")),
    )


def compare_form(vault: Vault) -> Page:
    """Two machines or two states to choose; the two that are most alike are proposed."""
    names = sorted({address.shown[0] for address in vault.axes()})
    return Page(
        "compare_form.html",
        "Compare two machines or two states",
        dict,
        {"machines": names, "proposed": closest_machines(vault), "has_axes": bool(names)},
        (("Site", "/"),),
    )
