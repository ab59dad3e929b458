"""A topic of the manual as plain text for a terminal, wrapped to its width."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence

from markdown_it.tree import SyntaxTreeNode

from vault.jobs.manual.topics import Topic, parser

_UNDERLINES = {"h1": "=", "h2": "-"}
_TOPIC_LINK = re.compile(r"([a-z-]+)\.md(?:#.*)?")
_GAP = "  "


def topic_text(topic: Topic, width: int) -> str:
    """The whole topic, in lines of at most `width` characters but for code and long words."""
    tree = SyntaxTreeNode(parser().parse(topic.text))
    blocks = ("\n".join(_block(node, width)) for node in tree.children)
    return "\n\n".join(blocks) + "\n"


def _block(node: SyntaxTreeNode, width: int) -> Iterator[str]:
    match node.type:
        case "heading":
            words = _inline(node.children[0])
            yield words
            if line := _UNDERLINES.get(node.tag):
                yield line * len(words)
        case "paragraph":
            yield from _wrapped(_inline(node.children[0]), width)
        case "fence" | "code_block":
            yield from (f"    {line}".rstrip() for line in node.content.splitlines())
        case "bullet_list" | "ordered_list":
            for number, item in enumerate(node.children, 1):
                yield from _item(item, "- " if node.type[0] == "b" else f"{number}. ", width)
        case "table":
            yield from _table(node, width)
        case _:
            for child in node.children:
                yield from _block(child, width)


def _wrapped(words: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(
        words,
        width,
        initial_indent=indent,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _item(item: SyntaxTreeNode, mark: str, width: int) -> Iterator[str]:
    lines = [line for part in item.children for line in _block(part, width - len(mark))]
    for number, line in enumerate(lines):
        yield f"{' ' * len(mark) if number else mark}{line}".rstrip()


def _table(table: SyntaxTreeNode, width: int) -> Iterator[str]:
    """In columns where these fit, else a block for each row."""
    rows = [
        [_inline(cell.children[0]) for cell in row.children]
        for part in table.children
        for row in part.children
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    if sum(widths) + len(_GAP) * (len(widths) - 1) <= width:
        for row in rows:
            yield _GAP.join(map(str.ljust, row, widths)).rstrip()
        return
    for row in rows[1:]:
        yield from _row(rows[0], row, width)


def _row(heads: Sequence[str], row: Sequence[str], width: int) -> Iterator[str]:
    yield row[0]
    for head, cell in zip(heads[1:], row[1:], strict=True):
        told = f"{head}: {cell}" if head and len(row) > 2 else cell
        yield from _wrapped(told, width, " " * 4)


def _inline(node: SyntaxTreeNode) -> str:
    """A line's words; a link to another topic says how to read that."""
    match node.type:
        case "softbreak" | "hardbreak":
            return " "
        case "link":
            words = "".join(map(_inline, node.children))
            target = str(node.attrs.get("href", ""))
            if topic := _TOPIC_LINK.fullmatch(target):
                return words if words == topic[1] else f"{words} ({topic[1]})"
            return words if target.startswith("#") else f"{words} ({target})"
        case "image":
            return f"[picture: {''.join(map(_inline, node.children))}]"
        case "text" | "code_inline":
            return node.content
        case _:
            return "".join(map(_inline, node.children))
