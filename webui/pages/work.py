"""Work that goes on behind the pages: how far it is, and what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import current_app, send_file

from vault.model.errors import Refused, WrongUsage
from vault.store.vault import Vault
from webui.background_work import Work, WorkQueue, may_see
from webui.page import Page
from webui.visitors import require_account
from webui.work_documents import work_document, works_document

if TYPE_CHECKING:
    from vault.model.accounts import Account

_AGAIN_SECONDS = 2


def all_work(vault: Vault) -> Page:
    """The visitor's work, latest first."""
    account = require_account("reader")
    works = list(_queue().all(account))
    return Page(
        "works.html",
        "Work",
        lambda: works_document(works),
        {"works": works, "is_admin": account.may("admin")},
        (("Site", "/"),),
    )


def one_work(vault: Vault, work_id: str) -> Page:
    """One, with its progress."""
    work = _seen(work_id)
    again = None if work.is_over else _AGAIN_SECONDS
    crumbs = (("Site", "/"), ("Work", "/work"))
    return Page(
        "work.html", work.title, lambda: work_document(work), {"work": work}, crumbs, refresh=again
    )


def work_file(vault: Vault, work_id: str) -> Page:
    """The file that came of it."""
    work = _seen(work_id)
    path = _queue().file_of(work)
    if path is None or not path.is_file():
        raise WrongUsage("there is no file here")
    answer = send_file(path.resolve(), as_attachment=True, download_name=path.name, max_age=0)
    return Page("", "", dict, raw=answer)


def _seen(work_id: str) -> Work:
    account: Account = require_account("reader")
    work = _queue().read(work_id)
    if not may_see(account, work):
        raise Refused(f"this is the work of {work.account}")
    return work


def _queue() -> WorkQueue:
    queue: WorkQueue = current_app.extensions["work_queue"]
    return queue
