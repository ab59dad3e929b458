"""Making an axis, and with it a machine, before its first export."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.axis_form.store import new_axis as make_axis
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault
from webui.page import FormResult, Page
from webui.request_fields import form_field, query_arg, required_field
from webui.visitors import may

if TYPE_CHECKING:
    from vault.model.accounts import Account

NO_FAMILY = "none"


def new_axis(vault: Vault) -> Page:
    """What it is called, and which family its drive is of."""
    return Page(
        "new_axis.html",
        "New axis",
        dict,
        {
            "machines": sorted({address.shown[0] for address in vault.axes()}),
            "families": vault.family_names(),
            "machine": query_arg("machine"),
            "is_allowed": may("technician"),
            "no_family": NO_FAMILY,
        },
        (("Site", "/"),),
    )


def make_new_axis(vault: Vault, account: Account) -> FormResult:
    """Make it, and go on with its record."""
    machine, axis = required_field("machine"), required_field("axis")
    address = Address.parse(f"{machine}/{axis}")
    family = form_field("family")
    if family not in (None, NO_FAMILY, *vault.family_names()):
        raise WrongUsage(f"the vault has no family {family!r}")
    make_axis(vault, address, form_field("title") or "", account.person)
    words = f"{address} is made. Next: what its plates say, then its first export."
    if family == NO_FAMILY:
        words += " Its family is drafted from that export."
    query = f"?family={family}" if family not in (None, NO_FAMILY) else ""
    return FormResult(f"/axis/{address}/record{query}", words)
