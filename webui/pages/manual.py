"""The manual: its contents, a topic, and where words stand in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from vault.jobs.manual.documents import manual_document, search_document
from vault.jobs.manual.topic_html import topic_html
from vault.jobs.manual.topics import CONTENTS, search, topic_named
from webui.page import Page
from webui.request_fields import query_arg

if TYPE_CHECKING:
    from vault.store.vault import Vault

_MOST_SHOWN = 40


def manual(vault: Vault) -> Page:
    """The contents; where words are asked for, the sections that have them."""
    text = query_arg("text")
    if text is None:
        return manual_topic(vault, CONTENTS)
    found = search(text)
    return Page(
        "manual.html",
        "Manual",
        lambda: search_document(text, found),
        {"sought": text, "count": len(found), "passages": found[:_MOST_SHOWN]},
        (("Site", "/"), ("Manual", "/manual")),
    )


def manual_topic(vault: Vault, topic: str) -> Page:
    """One topic."""
    shown = topic_named(topic)
    return Page(
        "manual.html",
        shown.title,
        lambda: manual_document(shown),
        # HTML of our own making: what stands in a topic as text is escaped there.
        {"content": Markup(topic_html(shown))},  # noqa: S704
        (("Site", "/"), ("Manual", "/manual")),
    )
