"""Which axes have, or had, a setting."""

from __future__ import annotations

from vault.jobs.inspect.documents import find_document
from vault.jobs.inspect.find import find
from vault.store.vault import Vault
from webui.page import Page
from webui.request_fields import query_arg


def find_page(vault: Vault) -> Page:
    """`text` is a code, a role or part of a name; `value` a condition, `now=1` the present only."""
    text, value, only_now = query_arg("text"), query_arg("value"), query_arg("now") is not None
    if text is None:
        return Page("find.html", "Find a setting", dict, {"occurrences": None}, (("Site", "/"),))
    occurrences = find(vault, text, value, only_now=only_now)
    return Page(
        "find.html",
        f"Find {text}",
        lambda: find_document(occurrences),
        {"occurrences": occurrences, "text": text, "value": value, "only_now": only_now},
        (("Site", "/"),),
    )
