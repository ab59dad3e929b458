"""A topic of the manual as HTML for a page: its headings can be linked to, links lead to pages."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

from markdown_it.token import Token

from vault.jobs.manual.topics import Topic, anchors, parser, picture, plain

PAGE = "/manual"
_TOPIC_LINK = re.compile(r"([a-z-]+)\.md(#.*)?")


@cache
def topic_html(topic: Topic) -> str:
    """The topic below its title; all that stands in it as text is escaped."""
    tokens = parser().parse(topic.text)
    if tokens and tokens[0].type == "heading_open" and tokens[0].tag == "h1":
        tokens = tokens[3:]
    for heading, _, place in anchors(tokens):
        heading.attrSet("id", place)
    _name_cells(tokens)
    for token in tokens:
        for part in token.children or ():
            if part.type == "link_open":
                part.attrSet("href", page_address(str(part.attrGet("href"))))
            elif part.type == "image":  # within the page: it is ours, and needs no other request
                part.type, part.content = "html_inline", picture(str(part.attrGet("src")))
    return str(parser().renderer.render(tokens, parser().options, {}))


def page_address(target: str) -> str:
    """Where a link of a topic leads on the pages: `margins.md#hold` to `/manual/margins#hold`."""
    found = _TOPIC_LINK.fullmatch(target)
    return f"{PAGE}/{found[1]}{found[2] or ''}" if found else target


def _name_cells(tokens: Sequence[Token]) -> None:
    """Say at each cell what its column is, of more than two: on a phone a row is a block."""
    heads, at = list[str](), 0
    for token, inline in pairwise(tokens):
        if token.type == "table_open":
            token.attrSet("class", "stack")
            heads = []
        elif token.type == "th_open":
            token.attrSet("scope", "col")
            heads.append(plain(inline))
        elif token.type == "tr_open":
            at = 0
        elif token.type == "td_open":
            if at and heads[at] and len(heads) > 2:
                token.attrSet("data-head", heads[at])
            at += 1
