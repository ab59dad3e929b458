"""Keys of a record that get another value, appear or go: every other byte stays as it is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any

from vault.model.errors import Unreadable
from vault.store.files.yaml_line import in_line
from vault.store.files.yaml_splices import Splice, line_end, spliced
from vault.store.files.yaml_text import composed, load

Edits = Mapping[str, Any]
"""New values by key, mappings of such below a section; None takes a key away."""

_QUANTITY = re.compile(r"-?\d+(\.\d+)? [A-Za-z%][A-Za-z0-9%/^*()_-]*")


def with_edits(content: bytes, edits: Edits, file: str) -> bytes:
    """A record with edits.

    Raises Unreadable where it is written in a way in which that can be edited by hand alone.
    """
    load(content, file)
    if not edits:
        return content
    text = content.decode("utf-8-sig")
    root = composed(text)
    if not _is_mapping(root):
        raise _by_hand(file)
    result = spliced(content, list(_in_mapping(text, root, edits, 0)))
    if not _is_as_asked(content, result, edits, file):
        raise _by_hand(file)
    return result


def _by_hand(file: str) -> Unreadable:
    """The refusal of an edit to a record that is written in some other way."""
    return Unreadable(
        "this record is written in a way in which it is edited by hand alone",
        file=file,
        hint="take the file, edit it, and send it back",
    )


def _is_mapping(node: Any) -> bool:
    return getattr(node, "id", "") == "mapping"


def _in_mapping(text: str, node: Any, edits: Edits, depth: int) -> Iterator[Splice]:
    pairs = {key.value: (key, value) for key, value in node.value}
    added: dict[str, Any] = {}
    gone = [key for key in pairs if key in edits and _is_emptied(edits[key], pairs[key][1])]
    for key, content in edits.items():
        if key not in pairs:
            if (kept := _kept(content)) is not None:
                added[key] = kept
        elif key in gone:
            yield from _removed(text, node, *pairs[key])
        elif isinstance(content, Mapping) and _is_mapping(pairs[key][1]) and pairs[key][1].value:
            yield from _in_mapping(text, pairs[key][1], content, depth + 1)
        else:
            yield _replaced(text, pairs[key][1], _kept(content))
    if added:
        yield _added(text, node, added, depth)


def _kept(content: Any) -> Any:
    """What is written of a new value: without what is taken away; None for nothing."""
    if not isinstance(content, Mapping):
        return content
    found = {key: kept for key, each in content.items() if (kept := _kept(each)) is not None}
    return found or None


def _is_emptied(content: Any, node: Any) -> bool:
    """Whether nothing stays of what a node has: a section with nothing below it is none."""
    if not isinstance(content, Mapping):
        return content is None
    there = {key.value for key, _ in node.value} if _is_mapping(node) else set()
    return _kept(content) is None and there <= content.keys()


def _removed(text: str, parent: Any, key: Any, value: Any) -> Iterator[Splice]:
    """Without a key. Comments on lines of their own stay, also between those below a section."""
    if parent.flow_style:
        start, end = key.start_mark.index, value.end_mark.index
        rest = re.match(r"\s*,\s*", text[end:])
        before = re.search(r",\s*\Z", text[:start])
        if rest:
            end += rest.end()
        elif before:
            start = before.start()
        yield Splice(start, end, "")
        return
    if _is_mapping(value) and not value.flow_style and value.value:
        for inner_key, inner in value.value:
            yield from _removed(text, value, inner_key, inner)
        yield _whole_lines(text, key.start_mark.index, key.end_mark.index)
        return
    end = max(key.end_mark.index, key.start_mark.index + len(_of(text, key, value).rstrip()))
    yield _whole_lines(text, key.start_mark.index, end)


def _of(text: str, key: Any, value: Any) -> str:
    return text[key.start_mark.index : value.end_mark.index]


def _whole_lines(text: str, start: int, end: int) -> Splice:
    begin = text.rfind("\n", 0, start) + 1
    after = text.find("\n", end)
    return Splice(begin, len(text) if after < 0 else after + 1, "")


def _replaced(text: str, value: Any, content: Any) -> Splice:
    start, end = value.start_mark.index, value.end_mark.index
    own = text[start:end].rstrip()
    words = _value(content)
    if start == end and not text[:start].endswith((" ", "\n")):  # nothing stood there
        words = f" {words}"
    return Splice(start, start + len(own), words)


def _added(text: str, node: Any, added: Mapping[str, Any], depth: int) -> Splice:
    newline = "\r\n" if "\r\n" in text else "\n"
    if node.flow_style:
        words = ", ".join(f"{key}: {_value(content)}" for key, content in added.items())
        last = node.value[-1][1].end_mark.index if node.value else node.start_mark.index + 1
        return Splice(last, last, f", {words}" if node.value else words)
    indent = " " * node.value[0][0].start_mark.column
    lines = "".join(f"{line}{newline}" for line in _lines(added, indent, depth))
    behind = _last_character(text, node)
    end = line_end(text, behind)
    stop = text.find("\n", end)
    if stop < 0:
        return Splice(len(text), len(text), f"{newline}{lines}")
    return Splice(stop + 1, stop + 1, lines)


def _last_character(text: str, node: Any) -> int:
    """Where a mapping's last value ends; of a value that is not there, its key."""
    key, value = node.value[-1]
    if _is_mapping(value) and not value.flow_style and value.value:
        return _last_character(text, value)
    own = text[key.start_mark.index : value.end_mark.index]
    return int(max(key.end_mark.index, key.start_mark.index + len(own.rstrip())))


def _lines(added: Mapping[str, Any], indent: str, depth: int) -> Iterator[str]:
    """New keys, and those of a new section on lines of their own."""
    for key, content in added.items():
        if isinstance(content, Mapping) and depth == 0:
            yield f"{indent}{_key(key)}:"
            yield from _lines(content, f"{indent}  ", depth + 1)
        else:
            yield f"{indent}{_key(key)}: {_value(content)}"


def _key(key: str) -> str:
    return in_line(key)


def _value(content: Any) -> str:
    """A value within a line; a quantity as people write it, without quotation marks."""
    if isinstance(content, Mapping):
        inner = (f"{_key(key)}: {_value(each)}" for key, each in content.items())
        return f"{{{', '.join(inner)}}}"
    if isinstance(content, list | tuple):
        return f"[{', '.join(map(_value, content))}]"
    if isinstance(content, str) and _QUANTITY.fullmatch(content):
        return content
    return in_line(content)


def _is_as_asked(before: bytes, after: bytes, edits: Edits, file: str) -> bool:
    """Whether the edits were made and nothing else, by what a reader of YAML makes of both."""
    try:
        wanted = _edited(load(before, file), edits)
        return bool(_plain(load(after, file)) == _plain(wanted)) and _comments(before, after)
    except Unreadable:
        return False


def _edited(loaded: Any, edits: Edits) -> dict[str, Any]:
    result = deepcopy(loaded) if isinstance(loaded, dict) else {}
    for key, content in edits.items():
        if isinstance(content, Mapping):
            content = _edited(result.get(key), content) or None
        if content is None:
            result.pop(key, None)
        else:
            result[key] = content
    return result


def _comments(before: bytes, after: bytes) -> bool:
    """Whether every comment that has a line of its own is still there."""
    own = re.compile(rb"^[ \t]*(#.*?)\r?$", re.MULTILINE)
    there = own.findall(after)
    return all(there.count(each) >= 1 for each in own.findall(before))


def _plain(content: Any) -> Any:
    """Content as it compares: keys as texts, texts and numbers as they are written."""
    if isinstance(content, Mapping):
        return {str(key): _plain(each) for key, each in content.items()}
    if isinstance(content, list | tuple):
        return [_plain(each) for each in content]
    return content if isinstance(content, bool) or content is None else str(content)
