"""What is set once a year: policy, form, channels, accounts, upkeep, each with what changes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.alerts.confirm import unconfirmed_channels
from vault.jobs.backup.last import last_backup
from vault.jobs.sync.log import sync_events
from vault.jobs.verify.incremental import last_verified
from vault.jobs.watch.known_folders import watched_folders
from vault.store.clock import now, parse_time
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault
from webui.known_facts import KnownFacts
from webui.page import Page
from webui.visitors import accounts, may, reading_is_open

if TYPE_CHECKING:
    from vault.model.accounts import Account


def settings(vault: Vault) -> Page:
    """How the site is set up; nothing is changed here."""
    facts = KnownFacts()
    site = facts.ask("vault.yaml", lambda: vault.site_record)
    good = facts.ask("verified", lambda: last_verified(vault))
    synced = facts.ask("copies", lambda: sync_events(vault.state))
    content = {
        "record": site,
        "problems": facts.problems,
        "unconfirmed": facts.ask("channels", lambda: _unconfirmed(vault)) if site else None,
        "accounts": facts.ask("accounts", _accounts) if may("admin") else None,
        "is_admin": may("admin"),
        "open_reading": reading_is_open(vault),
        "verified_at": parse_time(good[1]) if good is not None else None,
        "synced": synced[-1] if synced else None,
        "backup": last_backup(vault.state),
        "folders": facts.ask("watched folders", lambda: watched_folders(vault.state)) or (),
        "example": now(),
    }
    return Page("settings.html", "Settings of the site", dict, content, (("Site", "/"),))


def _unconfirmed(vault: Vault) -> list[str]:
    """Channels that are not used from this computer; what was never asked makes no file."""
    if not Outbox.exists(vault.state):
        return [channel.name for channel in vault.site_record.alerts]
    return unconfirmed_channels(vault)


def _accounts() -> list[Account]:
    with accounts() as kept:
        return kept.all()


def refused(vault: Vault) -> Page:
    """What watched folders refused, and why."""
    return Page(
        "refused.html",
        "Refused by a watched folder",
        dict,
        {"folders": watched_folders(vault.state)},
        (("Site", "/"), ("Take in", "/take-in")),
    )
