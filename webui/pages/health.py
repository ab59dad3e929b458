"""How the vault itself is: its tip, its witness, its outbox, what was verified."""

from __future__ import annotations

from typing import Any

from vault.jobs.deliver import channels_of, waiting
from vault.jobs.verify_new import found_good
from vault.store.vault import Vault
from vault.store.witness import FILE, read_witness
from webui.page import Page


def health(vault: Vault) -> Page:
    """What can be told at once; `axisvault verify` looks at everything."""
    witness = read_witness(vault.repository.path / FILE)
    good = found_good(vault)
    told: dict[str, Any] = {
        "site": vault.site,
        "axes": len(vault.axes()),
        "snapshots": vault.index.count(),
        "tip": vault.tip,
        "witness": None
        if witness is None
        else {"lines": len(witness.lines), "head": witness.head, "broken": witness.broken},
        "verified": None if good is None else {"tip": good[0], "at": good[1]},
        "index_damaged": vault.index.is_damaged,
        "messages_waiting": len(waiting(vault.state, channels_of(vault))),
    }
    return Page("health.html", "The vault itself", lambda: told, {"told": told}, (("Site", "/"),))
