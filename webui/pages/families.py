"""Dictionaries of drive families, and the roles of their parameters."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import request

from vault.jobs.families.confirm_roles import confirm_roles, newest_values, roles_to_confirm
from vault.jobs.records.documents import dictionary_document, families_document
from vault.jobs.records.edit import list_families
from vault.model import roles
from vault.model.errors import VaultError, WrongUsage
from vault.model.parameters import canonical_code
from vault.model.wording import plural
from vault.store.vault import Vault
from webui.page import FormResult, Page
from webui.request_fields import form_field, query_arg
from webui.role_questions import of_family
from webui.visitors import may
from webui.waiting_drafts import waiting_drafts

if TYPE_CHECKING:
    from vault.model.accounts import Account

_MOST_ROWS = 60


def families(vault: Vault) -> Page:
    """All of them."""
    failures: list[VaultError] = []
    listed = list_families(vault, failures.append)
    return Page(
        "families.html",
        "Drive families",
        lambda: families_document(listed, failures),
        {"families": listed, "failures": failures, "drafts": waiting_drafts()},
        (("Site", "/"),),
    )


def family(vault: Vault, name: str) -> Page:
    """One, as people wrote it, with the roles that wait for somebody."""
    file = vault.family_file(name)
    code = canonical_code(query_arg("code") or "")
    asked = code if code in file.family.parameters else ""
    waiting = sum(bool(p.suggest and not p.role) for p in file.family.parameters.values())
    parameters = file.family.parameters.items()
    return Page(
        "family.html",
        f"Family {name}",
        lambda: dictionary_document(file),
        {
            "name": name,
            "family": file.family,
            "problems": file.problems,
            "waiting": waiting,
            "without_role": [(code, one) for code, one in parameters if not one.role],
            "with_role": [(code, one) for code, one in parameters if one.role],
            "questions": of_family(roles_to_confirm(vault, file, _MOST_ROWS)),
            "asked": asked,
            "values": newest_values(vault, name, [asked]).get(asked, ()) if asked else (),
            "roles": [role.name for role in roles.all_roles()],
            "may_change": may("approver"),
        },
        (("Site", "/"), ("Families", "/families")),
    )


def change_roles(vault: Vault, account: Account, name: str) -> FormResult:
    """Put a new version of the dictionary in, with roles as a person says them."""
    said: dict[str, str | None] = {}
    for number in range(_MOST_ROWS):
        code = request.form.get(f"code-{number}")
        chosen, other = request.form.get(f"role-{number}", ""), form_field(f"other-{number}")
        if code is not None and (other or chosen):
            said[code] = other or (None if chosen == "none" else chosen.removeprefix("="))
    if code := form_field("code"):
        said[code] = form_field("role")
    if not said:
        raise WrongUsage("nothing was said of any role", hint="say yes, another one, or none")
    confirm_roles(vault, name, said, account.person)
    words = f"{plural(len(said), 'role')} settled; it counts for what is taken in from now on."
    then = (("Axes of this family", f"/?family={name}"), ("Take exports in", "/take-in"))
    return FormResult(f"/families/{name}", words, next=then)
