"""Dictionaries of drive families."""

from __future__ import annotations

from vault.jobs.records.documents import family_json
from vault.jobs.records.edit import list_families
from vault.store.vault import Vault
from webui.page import Page


def families(vault: Vault) -> Page:
    """All of them."""
    found = list_families(vault)
    return Page(
        "families.html",
        "Drive families",
        lambda: {"families": [family_json(one) for one in found]},
        {"families": found},
        (("Site", "/"),),
    )


def family(vault: Vault, name: str) -> Page:
    """One, as people wrote it."""
    file = vault.family_file(name)
    dumped = file.family.model_dump(mode="json", by_alias=True, exclude_unset=True)
    return Page(
        "family.html",
        f"Family {name}",
        lambda: {**family_json(file.family), "dictionary": dumped},
        {"family": file.family},
        (("Site", "/"), ("Families", "/families")),
    )
