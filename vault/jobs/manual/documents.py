"""JSON of the manual."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.manual.topics import topics

if TYPE_CHECKING:
    from vault.jobs.manual.topics import Passage, Topic


class TopicNameDocument(TypedDict):
    """A topic of the manual."""

    topic: str
    """Its name, as `manual` takes it."""

    title: str
    """What it is about."""


class PassageDocument(TypedDict):
    """A section of the manual that has the words that were looked for."""

    topic: str
    """The topic it stands in."""

    title: str
    """The title of that."""

    heading: str
    """Its own heading; empty above the first one."""

    anchor: str
    """Its place within the topic, as addresses have it behind a #."""

    excerpt: str
    """The text around the first word that was found."""


class ManualDocument(TypedDict):
    """A topic of the manual, or where words stand in it: `manual`."""

    topics: list[TopicNameDocument]
    """Every topic, in the order to read them."""

    topic: str | None
    """The topic that is shown; null for a search."""

    text: str | None
    """Its text as Markdown; null for a search."""

    search: str | None
    """The words that were looked for; null for a topic."""

    found: list[PassageDocument]
    """The sections that have them, best first."""


def manual_document(topic: Topic) -> ManualDocument:
    """One topic."""
    return {
        "topics": _names(),
        "topic": topic.name,
        "text": topic.text,
        "search": None,
        "found": [],
    }


def search_document(text: str, found: Sequence[Passage]) -> ManualDocument:
    """What a search found."""
    return {
        "topics": _names(),
        "topic": None,
        "text": None,
        "search": text,
        "found": [_passage(one) for one in found],
    }


def _names() -> list[TopicNameDocument]:
    return [{"topic": one.name, "title": one.title} for one in topics().values()]


def _passage(passage: Passage) -> PassageDocument:
    section = passage.section
    return {
        "topic": section.topic.name,
        "title": section.topic.title,
        "heading": section.heading,
        "anchor": section.anchor,
        "excerpt": passage.excerpt,
    }
