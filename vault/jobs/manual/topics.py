"""The topics of the manual: what there is, one of them, and where words stand.

A topic is a file of `vault/manual`; the one called contents names the others, in the order to read.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise

from markdown_it import MarkdownIt
from markdown_it.token import Token

from vault.model.errors import WrongUsage
from vault.model.near_names import did_you_mean

CONTENTS = "contents"
_COMMENT = re.compile(r"<!--.*?-->\n?", re.DOTALL)
_LINKED = re.compile(r"\]\(([a-z-]+)\.md\)")
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_NO_ANCHOR = re.compile(r"[^\w -]")
_EXCERPT = 160


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic: its name, its title, and its whole text as Markdown."""

    name: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """What stands below a heading, as plain text; `anchor` is its place within the topic."""

    topic: Topic
    heading: str
    anchor: str
    text: str


@dataclass(frozen=True, slots=True)
class Passage:
    """A section that has the words that were looked for, and the text around the first of them."""

    section: Section
    excerpt: str


@cache
def topics() -> dict[str, Topic]:
    """Every topic by its name, the contents first."""
    first = _read(CONTENTS)
    names = [name for name in dict.fromkeys(_LINKED.findall(first.text)) if name != CONTENTS]
    return {CONTENTS: first, **{name: _read(name) for name in names}}


def topic_named(name: str) -> Topic:
    """A topic. Raises WrongUsage where there is none of the name."""
    found = topics().get(name)
    if found is None:
        near = did_you_mean(name, topics())
        raise WrongUsage(f"the manual has no topic {name!r}{near}", hint="axisvault manual")
    return found


def search(text: str) -> list[Passage]:
    """Sections that have all the words, those that name them in a title or heading first.

    The keys of answers come last: they are for programs.
    """
    words = text.casefold().split()
    if not words:
        return []
    found: list[tuple[bool, int, int, Passage]] = []
    for place, section in enumerate(_sections()):
        heading = f"{section.topic.title} {section.heading}".casefold()
        everything = f"{heading} {section.text.casefold()}"
        if all(word in everything for word in words):
            in_heading = sum(word in heading for word in words)
            passage = Passage(section, _excerpt(section.text, words))
            found.append((section.topic.name == "json", -in_heading, place, passage))
    return [passage for *_, passage in sorted(found, key=lambda one: one[:3])]


@cache
def parser() -> MarkdownIt:
    """Reads Markdown with tables. HTML in it is text: nothing but what we make reaches a page."""
    return MarkdownIt("commonmark", {"html": False}).enable("table")


def anchor(heading: str) -> str:
    """The place of a heading within its topic, as an address names it."""
    return _NO_ANCHOR.sub("", heading.casefold()).replace(" ", "-")


def anchors(tokens: Sequence[Token]) -> Iterator[tuple[Token, str, str]]:
    """Of each heading: the token that opens it, its words, and its place; no two places alike."""
    taken: Counter[str] = Counter()
    for token, inline in pairwise(tokens):
        if token.type == "heading_open":
            words = plain(inline)
            place = anchor(words)
            yield token, words, f"{place}-{taken[place]}" if taken[place] else place
            taken[place] += 1


def plain(inline: Token) -> str:
    """The words of a line without its marks."""
    return "".join(
        " " if part.type in ("softbreak", "hardbreak") else part.content
        for part in inline.children or ()
    )


def picture(name: str) -> str:
    """A picture that a topic names, as SVG."""
    return _file(name)


def _file(name: str) -> str:
    return (files("vault") / "manual" / name).read_text(encoding="utf-8")


def _read(name: str) -> Topic:
    written = _file(f"{name}.md")
    text = _COMMENT.sub("", written)
    title = _TITLE.search(text)
    return Topic(name, title[1] if title else name, text)


@cache
def _sections() -> tuple[Section, ...]:
    return tuple(section for topic in topics().values() for section in _sections_of(topic))


def _sections_of(topic: Topic) -> Iterator[Section]:
    tokens = parser().parse(topic.text)
    headings = {id(token): (words, place) for token, words, place in anchors(tokens)}
    heading, place, texts = "", "", list[str]()
    for before, token in pairwise(tokens):
        if token.type == "heading_open" and token.tag != "h1":
            if texts:
                yield Section(topic, heading, place, " ".join(texts))
            (heading, place), texts = headings[id(token)], []
        elif token.type == "inline" and before.type != "heading_open":
            texts.append(plain(token))
        elif token.type == "fence":
            texts.append(" ".join(token.content.split()))
    yield Section(topic, heading, place, " ".join(texts))


def _excerpt(text: str, words: list[str]) -> str:
    places = [at for word in words if (at := text.casefold().find(word)) >= 0]
    begin = max(min(places, default=0) - _EXCERPT // 3, 0)
    begin = text.rfind(" ", 0, begin) + 1 if begin else 0
    end = len(text) if len(text) - begin <= _EXCERPT else text.rfind(" ", begin, begin + _EXCERPT)
    end = end if end > begin else begin + _EXCERPT
    return f"{'… ' if begin else ''}{text[begin:end]}{' …' if end < len(text) else ''}"
