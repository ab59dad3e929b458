"""How the vault itself is: its tip, its witness, its outbox, what was verified."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from flask import current_app

from vault.jobs.alerts.deliver import channels_of, waiting
from vault.jobs.sync.log import sync_events
from vault.jobs.verify.documents import verification_document
from vault.jobs.verify.incremental import last_verified, verify_and_remember
from vault.jobs.verify.outcome import Verified
from vault.model.wording import plural
from vault.store.clock import parse_time
from vault.store.proof.witness import FILE, read_witness
from vault.store.vault import Vault
from webui.background_work import Outcome, Progress
from webui.documents import health_document
from webui.page import FormResult, Page
from webui.request_fields import form_field
from webui.visitors import may, reading_is_open
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from webui.background_work import Workshop

_MOST = 20


def health(vault: Vault) -> Page:
    """What can be told at once; verifying looks at everything."""
    witness = read_witness(vault.repository.path / FILE)
    good = last_verified(vault)
    synced = sync_events(vault.state)[-_MOST:]
    told = health_document(
        vault,
        witness,
        good,
        synced,
        messages_waiting=len(waiting(vault.state, channels_of(vault))),
        open_reading=reading_is_open(vault),
    )
    content = {
        "told": told,
        "verified_at": None if good is None else parse_time(good[1]),
        "synced": synced,
        "is_allowed": may("admin"),
    }
    return Page("health.html", "The vault itself", lambda: told, content, (("Site", "/"),))


def verify_vault(vault: Vault, account: Account) -> FormResult:
    """Verify the whole vault, or what is new in it."""
    only_new = form_field("what") != "all"

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        found = verify_and_remember(vault, progress, only_new=only_new)
        document = verification_document(found)
        return Outcome(tuple(_told(found)), "/health", None, {"verify": document})

    shop: Workshop = current_app.extensions["workshop"]
    title = "Verify what is new" if only_new else "Verify the whole vault"
    work = shop.start(title, account, task)
    return FormResult(f"/work/{work.id}", "Verifying has begun.", work_begun_document(work))


def _told(found: Verified) -> list[str]:
    checked = plural(found.snapshots, "snapshot")
    if found.ok:
        return [f"{checked} checked, and everything is as it was recorded.", *found.remarks]
    said = [f"{plural(len(found.problems), 'problem')} in {checked}."]
    if (first := found.first_untrusted) is not None:
        place = f"{first.axis}@{(first.snapshot or '')[:10]}" if first.axis else "the history"
        said.append(f"The first that cannot be trusted is {place}: {first.why}.")
    said += [f"{one.kind}, {one.where}: {one.details}" for one in found.problems[:_MOST]]
    return [*said, *found.remarks]
