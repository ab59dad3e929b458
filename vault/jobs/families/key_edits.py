"""Keys written into parameters of a dictionary that lack them: every other byte stays as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from vault.jobs.families.splices import by_hand, parameter_nodes
from vault.model.errors import Unreadable
from vault.model.parameters import canonical_code
from vault.model.quantities import plain
from vault.store.files.yaml_line import in_line
from vault.store.files.yaml_splices import Splice, line_end, spliced
from vault.store.files.yaml_text import composed, load


def with_keys(content: bytes, file: str, added: Mapping[str, Mapping[str, Any]]) -> bytes:
    """A dictionary with further keys, by code and key; those that a parameter has are kept.

    Raises Unreadable where it is written in a way in which that can be edited by hand alone.
    """
    text = content.decode("utf-8-sig")
    nodes = parameter_nodes(composed(text))
    splices: list[Splice] = []
    for code, keys in added.items():
        node = nodes[canonical_code(code)]
        there = {key.value for key, _ in node.value}
        lacking = {key: content for key, content in keys.items() if key not in there}
        if lacking:
            splices += _edits(text, node, lacking)
    result = spliced(content, splices)
    if not _is_as_asked(content, result, file, added):
        raise by_hand(file)
    return result


def _edits(text: str, node: Any, keys: Mapping[str, Any]) -> Iterator[Splice]:
    last = node.value[-1][1].end_mark.index
    lines = [f"{key}: {in_line(content)}" for key, content in keys.items()]
    if node.flow_style:
        yield Splice(last, last, "".join(f", {line}" for line in lines))
        return
    mark = "\r\n" if "\r\n" in text else "\n"
    indent = " " * node.value[0][0].start_mark.column
    # A mapping of its own ends where the next key begins: behind its last line that holds anything.
    behind = len(text[:last].rstrip())
    end = line_end(text, behind)
    yield Splice(end, end, "".join(f"{mark}{indent}{line}" for line in lines))


def _is_as_asked(
    before: bytes, after: bytes, file: str, added: Mapping[str, Mapping[str, Any]]
) -> bool:
    """Whether nothing but the keys was added, by what a reader of YAML makes of both texts."""
    wanted = load(before, file)
    parameters = wanted["parameters"]
    codes = {canonical_code(str(code)): code for code in parameters}
    for code, keys in added.items():
        own = parameters[codes[canonical_code(code)]]
        parameters[codes[canonical_code(code)]] = {**{k: _plain(v) for k, v in keys.items()}, **own}
    try:
        return bool(_plain(load(after, file)) == _plain(wanted))
    except Unreadable:
        return False


def _plain(content: Any) -> Any:
    """Content as it compares: lists, keys as texts, numbers by their size."""
    if isinstance(content, Mapping):
        return {str(key): _plain(each) for key, each in content.items()}
    if isinstance(content, list | tuple):
        return [_plain(each) for each in content]
    if isinstance(content, bool) or content is None:
        return content
    return plain(content) if isinstance(content, Decimal) else str(content)
