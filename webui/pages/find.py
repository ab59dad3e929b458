"""One box for everything, and which axes have, or had, a setting."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from vault.jobs.inspect.documents import find_document
from vault.jobs.inspect.find import find
from vault.jobs.inspect.search import MOST, search
from vault.jobs.inspect.search_documents import search_document
from vault.store.vault import Vault
from webui.page import Page
from webui.request_fields import query_arg

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

_MOST_ON_A_PAGE = 40


def find_page(vault: Vault) -> Page:
    """What `text` may mean; with `setting=1`, `value` or `now=1` which axes have such a setting.

    The data are about the setting in any case.
    """
    text, value, only_now = query_arg("text"), query_arg("value"), query_arg("now") is not None
    if text is None:
        return _page(None, dict, {})
    content = {"value": value, "only_now": only_now}
    if query_arg("setting") is None and value is None and not only_now:
        return _page(
            text,
            lambda: find_document(find(vault, text)),
            {"hits": search(vault, text, _MOST_ON_A_PAGE), **content},
        )
    found = find(vault, text, value, only_now=only_now)
    return _page(text, lambda: find_document(found), {"occurrences": found, **content})


def search_page(vault: Vault) -> Page:
    """What `text` may mean, as data for whoever is still typing; as a page it is the same."""
    text = query_arg("text") or ""
    hits = search(vault, text, MOST)
    return _page(text, lambda: search_document(hits), {"hits": hits})


def _page(
    text: str | None, data: Callable[[], Mapping[str, object]], content: dict[str, Any]
) -> Page:
    title = f"Find {text}" if text else "Find"
    return Page("find.html", title, data, {"searched": text, **content}, (("Site", "/"),))
