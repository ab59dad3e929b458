"""What people did beside taking exports: approvals, waivers, records, notes, plans."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from vault.jobs.accounts.accounts import failed_log_ins, log_of_accounts
from vault.jobs.audit.act_reasons import Reasons, approval_reasons, restore_reasons
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.sync.log import sync_events, sync_merges
from vault.jobs.trials.kept import result_of, trial_named, trial_names
from vault.jobs.trials.trace_kept import trace_names, trace_record
from vault.jobs.trials.trace_told import trace_told
from vault.model.errors import Unavailable, VaultError
from vault.model.wording import plural
from vault.model.written_form import minute_text, placed
from vault.store.files import layout
from vault.store.files.moment_names import moment_of_name
from vault.store.git.history import commits_changing

if TYPE_CHECKING:
    from datetime import datetime

    from vault.model.names import Address
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Action:
    """One act: the axis it was about (None for the site's), the commit that records it, if any."""

    at: datetime
    by: str
    axis: Address | None
    commit: str
    title: str
    sentences: tuple[str, ...] = ()


def actions_on_axis(vault: Vault, address: Address) -> Iterator[Action]:
    """Acts on one axis, oldest first of each kind; of a controller's set, those on its baseline."""
    own = (layout.golden_file(address),)
    for path in own if address.is_controller else (*own, layout.restore_file(address)):
        before = None
        for logged in commits_changing(vault.repository, vault.tip, path):
            title = without_axis(logged.subject, vault.names.names(address))
            news = why_done(vault, address, path, logged.commit, before)
            yield Action(logged.at, logged.by, address, logged.commit, title, news)
            before = logged.commit
    if address.is_controller:
        return
    for name in trial_names(vault, address):
        yield _trial_action(vault, address, name)
    for name in trace_names(vault, address):
        yield _trace_action(vault, address, name)
    for note in vault.corrections(address):
        yield Action(note.at, note.by, address, "", note.title, (note.text,))
    for edit in axis_edits(vault, address):
        title = "axis as built recorded" if edit.is_first else "axis as built changed"
        sentences = () if edit.is_first else tuple(change.explanation for change in edit.changes)
        yield Action(edit.at, edit.by, address, edit.commit, title, sentences)


def _trial_action(vault: Vault, address: Address, name: str) -> Action:
    try:
        trial = trial_named(vault, address, name)
        verdict = result_of(vault, address, trial).verdict
    except VaultError as error:
        return _unread(address, name, "trial", error)
    failed = tuple(found.sentence for found in verdict.failed)
    return Action(
        trial.taken_at, trial.by, address, "", f"trial: {verdict.standing}",
        (f"On snapshot {trial.snapshot[:10]}. {verdict.summary}", *failed),
    )  # fmt: skip


def _trace_action(vault: Vault, address: Address, name: str) -> Action:
    try:
        record = trace_record(vault, address, name)
        told = trace_told(vault, address, record)
    except VaultError as error:
        return _unread(address, name, "trace", error)
    return Action(
        record.taken_at, record.by, address, "", f"trace: {told.standing}",
        (f"On snapshot {record.snapshot[:10]}. {told.summary}",),
    )  # fmt: skip


def _unread(address: Address, name: str, kind: str, error: VaultError) -> Action:
    """What is known of a trial or trace that cannot be read: when it was, by its name."""
    return Action(
        placed(moment_of_name(name)), "", address, "", f"{kind}: it cannot be read", (f"{error}.",)
    )


def without_axis(subject: str, names: Iterable[str]) -> str:
    """First line of a commit about an axis without the name that it had then."""
    for name in names:
        subject = subject.removeprefix(f"{name}: ")
    return subject


def why_done(
    vault: Vault, address: Address, path: str, commit: str, before: str | None
) -> tuple[str, ...]:
    """What golden.yaml or restore.yaml of a commit says of why; `before` changed it last, and what
    that said already is left out.
    """
    reasons = approval_reasons if path == layout.golden_file(address) else restore_reasons
    known = reasons(vault, address, path, before) if before is not None else Reasons()
    return reasons(vault, address, path, commit).news(known)


def actions_on_site(vault: Vault, families: Iterable[str]) -> Iterator[Action]:
    """Edits of policies, signers and dictionaries, oldest first; then what was synced."""
    paths = [layout.VAULT, layout.SIGNERS, *(layout.family_file(name) for name in sorted(families))]
    for logged in commits_changing(vault.repository, vault.tip, *paths):
        if not vault.index.has(logged.commit):  # a late entry brings its dictionary along
            yield Action(logged.at, logged.by, None, logged.commit, logged.subject)
    for merge in sync_merges(vault):
        kept = tuple(f"Changed on both sides: {path}." for path in merge.kept)
        yield Action(merge.at, merge.by, None, merge.commit, merge.title, kept)
    for event in sync_events(vault.state):
        if event.merge is None:
            yield Action(event.at, event.by, None, event.tip, event.title)


def account_actions(vault: Vault, start: datetime, end: datetime) -> Iterator[Action]:
    """Rights that were given and taken away in a period, as far as that can be read."""
    with suppress(Unavailable):
        for change in log_of_accounts(vault.state).changes:
            if start <= change.at <= end:
                yield Action(change.at, change.by, None, "", change.title)


def failed_log_in_actions(vault: Vault, start: datetime, end: datetime) -> Iterator[Action]:
    """Log-ins that failed in a period; those in a row, for one account from one place, are one."""
    failed = failed_log_ins(vault.state, start, end)
    for (account, address), row in groupby(
        failed, lambda attempt: (attempt.account, attempt.address)
    ):
        first, *more = row
        tries = f"{plural(1 + len(more), 'attempt')} to log in failed"
        sentences = (f"The last one at {minute_text(more[-1].at)}.",) if more else ()
        title = f"{tries}, account {account}, from {address}"
        yield Action(first.at, account, None, "", title, sentences)
