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
from webui.tables import ASKED

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

_MOST_ON_A_PAGE = 40
_MOST_ROWS = 200  # of a table that is not asked for as a whole


def find_page(vault: Vault) -> Page:
    """What `text` may mean; with `setting=1`, `value` or `now=1` which axes have such a setting.

    The data are about the setting in any case. A long table begins with its first rows, unless
    `all` or the table as CSV is asked for.
    """
    text, value, only_now = query_arg("text"), query_arg("value"), query_arg("now") is not None
    if text is None:
        return _page(None, dict, {})
    content: dict[str, Any] = {"value": value, "only_now": only_now}
    if query_arg("setting") is None and value is None and not only_now:
        return _page(
            text,
            lambda: find_document(find(vault, text)),
            {"hits": search(vault, text, _MOST_ON_A_PAGE), **content},
        )
    found = find(vault, text, value, only_now=only_now)
    is_whole = query_arg("all") is not None or query_arg(ASKED) is not None
    content["occurrences"] = found if is_whole else found[:_MOST_ROWS]
    return _page(text, lambda: find_document(found), {"count": len(found), **content})


def search_page(vault: Vault) -> Page:
    """What `text` may mean, as data for whoever is still typing; as a page it is the same."""
    text = query_arg("text") or ""
    hits = search(vault, text, MOST)
    return _page(text, lambda: search_document(hits), {"hits": hits})


def _page(
    text: str | None, data: Callable[[], Mapping[str, object]], content: dict[str, Any]
) -> Page:
    title = " ".join(filter(None, ("Find", text, content.get("value"))))
    return Page("find.html", title, data, {"searched": text, **content}, (("Site", "/"),))
