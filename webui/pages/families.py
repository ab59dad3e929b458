"""Dictionaries of drive families."""

from __future__ import annotations

from vault.jobs.records.documents import dictionary_document, families_document
from vault.jobs.records.edit import list_families
from vault.model.errors import VaultError
from vault.store.vault import Vault
from webui.page import Page


def families(vault: Vault) -> Page:
    """All of them."""
    failures: list[VaultError] = []
    listed = list_families(vault, failures.append)
    return Page(
        "families.html",
        "Drive families",
        lambda: families_document(listed, failures),
        {"families": listed, "failures": failures},
        (("Site", "/"),),
    )


def family(vault: Vault, name: str) -> Page:
    """One, as people wrote it."""
    file = vault.family_file(name)
    return Page(
        "family.html",
        f"Family {name}",
        lambda: dictionary_document(file),
        {"family": file.family, "problems": file.problems},
        (("Site", "/"), ("Families", "/families")),
    )
