"""Drafts of dictionaries that wait: for an approver, or for whoever made them to go on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import current_app

from vault.store.clock import parse_time
from webui.uploads import Uploads
from webui.visitors import may, state_folder, visitor

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from webui.uploads import Upload


@dataclass(frozen=True, slots=True)
class WaitingDraft:
    """A draft, or exports whose draft somebody else settled: where it goes on, of which files.

    `asked_by` and `asked_at` are who left it to an approver and when; `news` is what somebody else
    did with it, empty for nothing.
    """

    name: str
    place: str
    files: tuple[str, ...]
    is_own: bool
    asked_by: str
    asked_at: datetime | None
    news: str
    kept_until: datetime


def waiting_drafts() -> list[WaitingDraft]:
    """Those of whoever is there, and for an approver those that wait for one; these first."""
    account = visitor()
    if account is None:
        return []
    uploads = Uploads(state_folder(current_app))
    found = uploads.all_of(account.name, is_approver=may("approver"))
    waiting = [one for upload in found for one in _waiting(uploads, upload, account.name)]
    return sorted(waiting, key=lambda one: one.asked_at is None)


def _waiting(uploads: Uploads, upload: Upload, account: str) -> Iterator[WaitingDraft]:
    said = upload.drafting
    if said is None and not upload.news:
        return
    files = [sent for sent in upload.files if said is None or sent.use == "draft"]
    yield WaitingDraft(
        name=said.name if said else next((sent.family for sent in files if sent.family), ""),
        place=f"/draft/{upload.id}" if said else f"/take-in/{upload.id}",
        files=tuple(sent.name for sent in files),
        is_own=upload.account == account,
        asked_by=said.asked_by if said else "",
        asked_at=parse_time(said.asked_at) if said and said.asked_at else None,
        news=upload.news,
        kept_until=uploads.kept_until(upload),
    )
