"""Upkeep: how the vault itself is, its tip, its witness, its outbox, what was verified."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from flask import current_app

from vault.jobs.alerts.confirm import channels_of
from vault.jobs.alerts.deliver import waiting
from vault.jobs.sync.log import sync_events
from vault.jobs.verify.documents import verification_document
from vault.jobs.verify.incremental import last_verified, verify_and_remember
from vault.jobs.verify.outcome import Verified
from vault.model.errors import Damaged
from vault.model.wording import plural
from vault.store.clock import parse_time
from vault.store.proof.witness import FILE, Witness, read_witness
from vault.store.vault import Vault
from webui.background_work import Outcome, Progress
from webui.documents import health_document
from webui.known_facts import KnownFacts
from webui.page import FormResult, Page
from webui.request_fields import form_field
from webui.visitors import may, reading_is_open
from webui.work_documents import work_begun_document

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from webui.background_work import WorkQueue

_MOST = 20


def health(vault: Vault) -> Page:
    """What can be told at once; verifying looks at everything."""
    facts = KnownFacts()
    try:
        witness = facts.ask("witness", lambda: read_witness(vault.repository.path / FILE))
    except Damaged as error:
        witness = Witness("", (), error.message)
    good = facts.ask("verified", lambda: last_verified(vault))
    synced = facts.ask("copies", lambda: sync_events(vault.state)[-_MOST:]) or []
    axes = facts.ask("axes", lambda: len(vault.axes()))
    snapshots = facts.ask("snapshots", vault.index.count)
    messages = facts.ask("messages", lambda: len(waiting(vault.state, channels_of(vault))))
    document = health_document(
        vault,
        witness,
        good,
        synced,
        axes=axes,
        snapshots=snapshots,
        messages_waiting=messages,
        open_reading=reading_is_open(vault),
        problems=facts.problems,
    )
    content = {
        "facts": document,
        "verified_at": None if good is None else parse_time(good[1]),
        "synced": synced,
        "is_allowed": may("admin"),
    }
    return Page("health.html", "Upkeep of the vault", lambda: document, content, (("Site", "/"),))


def verify_vault(vault: Vault, account: Account) -> FormResult:
    """Verify the whole vault, or what is new in it."""
    only_new = form_field("what") != "all"

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        outcome = verify_and_remember(vault, progress, only_new=only_new)
        document = verification_document(outcome)
        return Outcome(tuple(_verdict_sentences(outcome)), "/health", None, {"verify": document})

    queue: WorkQueue = current_app.extensions["work_queue"]
    title = "Verify what is new" if only_new else "Verify the whole vault"
    work = queue.start(title, account, task)
    return FormResult(f"/work/{work.id}", "Verifying has begun.", work_begun_document(work))


def _verdict_sentences(outcome: Verified) -> list[str]:
    checked = plural(outcome.snapshots, "snapshot")
    if outcome.ok:
        return [f"{checked} checked, and everything is as it was recorded.", *outcome.remarks]
    sentences = [f"{plural(len(outcome.problems), 'problem')} in {checked}."]
    if (first := outcome.first_untrusted) is not None:
        place = f"{first.axis}@{(first.snapshot or '')[:10]}" if first.axis else "the history"
        sentences.append(f"The first that cannot be trusted is {place}: {first.why}.")
    sentences += [
        f"{problem.kind}, {problem.where}: {problem.details}"
        for problem in outcome.problems[:_MOST]
    ]
    return [*sentences, *outcome.remarks]
