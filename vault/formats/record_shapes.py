"""What may be the records of an XML or JSON file that no dictionary knows, and what is in them.

A draft of a dictionary begins here. Every path that is given out is one of
`vault.model.record_path` and was followed: what is said of it is what `records` will read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from vault.formats.json_text import JsonValue
from vault.formats.record_trees import Chain, Node, Tree, read_tree
from vault.formats.xml_text import XmlElement
from vault.model.record_path import RecordPath, place_path, root_path

_MOST_PATHS, _MOST_SHAPES, _MOST_TEXTS = 500, 50, 5000
_MOST_FIELDS, _LOOKED_AT = 80, 200  # of a shape; records in which fields are looked for
_MOST_NAMES = 60  # beside each other that are told apart
_DEEPEST = 10
_DEEPEST_FIELD = 4
_NUMBER = re.compile(r"[-+\u2212]?[.,]?\d")

_Part = tuple[str, JsonValue | XmlElement]


@dataclass(frozen=True, slots=True)
class RecordShape:
    """Places that may be one parameter each, by the path that a dictionary has under `record`.

    `fields` are the texts of at most 5,000 records, one each, by paths as under `columns`; None
    where a record has none or several.
    """

    path: str
    count: int
    fields: Mapping[str, tuple[str | None, ...]]


def record_shapes(
    content: bytes, encodings: Sequence[str], *, file: str
) -> tuple[RecordShape, ...]:
    """What may be the records of a file, the likeliest first: at most 50.

    Likely are many records that one field tells apart and another gives numbers to. Raises
    Unreadable for what is no whole XML or JSON.
    """
    tree = read_tree(content, encodings, file=file)
    found = []
    for path in islice(_record_paths(tree), _MOST_SHAPES):
        records = [chain for chain, _ in tree.records(root_path(path))]
        if len(records) < 2:
            continue
        fields = _fields(tree, records[:_MOST_TEXTS], has_names=path.endswith(("*", "}")))
        found.append(RecordShape(path, len(records), fields))
    return tuple(sorted(found, key=lambda shape: (-_likelihood(shape), shape.path.count("/"))))


def single_texts(content: bytes, encodings: Sequence[str], *, file: str) -> dict[str, str]:
    """Texts that stand in one place alone, as a nameplate does, by paths as under `nameplate`.

    At most 500. Raises Unreadable for what is no whole XML or JSON.
    """
    tree = read_tree(content, encodings, file=file)
    found: dict[str, str] = {}
    for path in islice(_texts_in(tree, tree.outermost, _DEEPEST), _MOST_PATHS):
        parsed = _parsed(path, from_root=True)
        text = None if parsed is None else _only(tree, (), parsed)
        if text is not None:
            found[path] = text
    return found


def _likelihood(shape: RecordShape) -> int:
    """How many records one field of their own tells apart, where another has mostly numbers."""
    own = {
        path: [text for text in texts if text is not None]
        for path, texts in shape.fields.items()
        if not path.startswith("..")
    }
    differing = {path: len({*texts}) for path, texts in own.items()}
    numbers = (
        path
        for path, texts in own.items()
        if sum(_NUMBER.match(text) is not None for text in texts) * 2 > len(shape.fields[path])
    )
    return max((differing[code] for value in numbers for code in own if code != value), default=0)


# Which places may be records


def _record_paths(tree: Tree) -> Iterator[str]:
    waiting: list[tuple[str, list[JsonValue | XmlElement]]] = [("", [tree.outermost])]
    for path, nodes in waiting:  # grows behind what was looked at
        if path.count("/") + path.count("[]") + path.count("{}") > _DEEPEST:
            continue
        for below, parts, are_records in _groups(path, nodes):
            if len(waiting) < _MOST_PATHS and _parsed(below, from_root=True) is not None:
                waiting.append((below, parts))
                if are_records and len(parts) > 1:
                    yield below


def _groups(
    path: str, nodes: Sequence[JsonValue | XmlElement]
) -> Iterator[tuple[str, list[JsonValue | XmlElement], bool]]:
    """What stands in places that one path leads to: its path, and whether each may be a record."""
    by_name: dict[str, list[JsonValue | XmlElement]] = {}
    items: list[JsonValue | XmlElement] = []
    for node in nodes:
        if isinstance(node, XmlElement):
            for child in node.children:
                by_name.setdefault(child.tag, []).append(child)
        elif node.kind == "list":
            items += node.items
        else:
            for key, member in node.members.items():
                by_name.setdefault(key, []).append(member)
    if items:
        yield f"{path}[]", items, any(_is_object(item) for item in items)
    parts = [part for named in by_name.values() for part in named]
    is_xml = isinstance(nodes[0], XmlElement)
    if len(by_name) > 1 and _are_alike(parts) and (not is_xml or _differ_in_name(nodes)):
        below = _joined(path, "*") if is_xml else f"{path}{{}}"
        yield below, parts, True
    for name, named in islice(by_name.items(), _MOST_NAMES):
        yield _joined(path, _spelled(name)), named, is_xml and len(named) > len(nodes)


def _differ_in_name(nodes: Sequence[JsonValue | XmlElement]) -> bool:
    children = [[child.tag for child in n.children] for n in nodes if isinstance(n, XmlElement)]
    return sum(map(len, children)) <= 1.5 * sum(len({*tags}) for tags in children)


def _is_object(node: JsonValue | XmlElement) -> bool:
    return isinstance(node, JsonValue) and node.kind in ("object", "list")


def _are_alike(parts: Sequence[JsonValue | XmlElement], depth: int = 2) -> bool:
    """Whether things of different names may be records, or groups of records.

    They are values all, have the same names in them, or what is in them is alike.
    """
    parts = parts[:_LOOKED_AT]
    names = [_names_in(part) for part in parts]
    if not any(names):
        return not any(_is_object(part) for part in parts)
    if all(name & names[0] for name in names):
        return True
    below = [one for part in parts for one in _parts_of(part)]
    return depth > 0 and all(names) and _are_alike(below, depth - 1)


def _parts_of(node: JsonValue | XmlElement) -> Sequence[JsonValue | XmlElement]:
    return node.children if isinstance(node, XmlElement) else [*node.members.values()]


def _names_in(part: JsonValue | XmlElement) -> set[str]:
    if isinstance(part, XmlElement):
        return {*part.attributes, *(child.tag for child in part.children)}
    return {*part.members}


# What is in a record


def _fields(
    tree: Tree, records: Sequence[Chain], *, has_names: bool
) -> dict[str, tuple[str | None, ...]]:
    paths: dict[str, None] = {"~key": None} if has_names else {}
    seen: set[tuple[int, ...]] = set()  # many records have the same around them
    for chain in records[:_LOOKED_AT]:
        if len(paths) < _MOST_FIELDS:
            record = chain[-1]
            assert isinstance(record, JsonValue | XmlElement)
            paths |= dict.fromkeys(_texts_in(tree, record, _DEEPEST_FIELD))
            if (around := tuple(map(id, chain[:-1]))) not in seen:
                seen.add(around)
                paths |= dict.fromkeys(_around(chain))
    fields = {}
    for path in islice(paths, _MOST_FIELDS):
        if (parsed := _parsed(path)) is not None:
            texts = tuple(_only(tree, chain, parsed) for chain in records)
            if any(text is not None for text in texts):
                fields[path] = texts
    return fields


def _around(chain: Chain) -> Iterator[str]:
    """Paths of the texts that the places around a record have, and of their names."""
    for up, node in enumerate(reversed(chain[:-1]), 1):
        start = "../" * up
        parts: list[_Part]
        if isinstance(node, XmlElement) and node.tag:
            yield from (f"{start}@{_local(name)}" for name in node.attributes)
            yield f"{start}~key"
            parts = [(child.tag, child) for child in node.children if not child.children]
        elif isinstance(node, JsonValue):
            yield f"{start}~key"
            parts = [(key, one) for key, one in node.members.items() if not _is_object(one)]
        else:
            continue
        if len(parts) <= _MOST_NAMES:
            yield from (start + _spelled(name) for name, _ in parts)


def _texts_in(
    tree: Tree, node: JsonValue | XmlElement, depth: int, path: str = ""
) -> Iterator[str]:
    """Paths from a place to the texts in it; of equal things by what tells them apart."""
    if isinstance(node, XmlElement):
        yield from (_joined(path, f"@{_local(name)}") for name in node.attributes)
        if node.text or not (node.children or node.attributes):
            yield path or "."
    elif not _is_object(node):
        yield path or "."
    if depth:
        for name, part in _told_apart(tree, node):
            yield from _texts_in(tree, part, depth - 1, _joined(path, name))


def _told_apart(tree: Tree, node: JsonValue | XmlElement) -> Iterator[_Part]:
    """Steps that lead to one thing each."""
    groups: dict[str, list[JsonValue | XmlElement]] = {}
    if isinstance(node, XmlElement):
        for child in node.children:
            groups.setdefault(child.tag, []).append(child)
    elif node.kind == "list":
        yield from ((str(n), item) for n, item in enumerate(node.items[:_MOST_NAMES]))
    for key, member in [] if isinstance(node, XmlElement) else node.members.items():
        if member.kind == "list" and all(one.kind == "object" for one in member.items):
            groups[key] = [*member.items]
        else:
            yield _spelled(key), member
    for name, parts in groups.items():
        if len(parts) == 1 and isinstance(node, XmlElement):
            yield _spelled(name), parts[0]
        elif 0 < len(parts) <= _MOST_NAMES and (marks := _marks(tree, parts)) is not None:
            path, texts = marks
            steps = (f"{_spelled(name)}[{path}={text}]" for text in texts)
            yield from zip(steps, parts, strict=True)


def _marks(tree: Tree, parts: Sequence[JsonValue | XmlElement]) -> tuple[str, list[str]] | None:
    """A path and its texts that are others in each of several things."""
    for path in _texts_in(tree, parts[0], 1):
        if path == "." or (parsed := _parsed(path)) is None:
            continue
        texts = [_only(tree, (part,), parsed) for part in parts]
        known = [text for text in texts if text is not None]
        if len({*known}) == len(parts):
            return path, known
    return None


# Paths


def _only(tree: Tree, chain: Chain, path: RecordPath) -> str | None:
    nodes: list[Node] = tree.reach(chain, path)
    if len(nodes) != 1:
        return None
    try:
        is_empty = tree.cell(nodes[0]) == ""
    except ValueError:  # an object or a list
        return None
    return None if is_empty else tree.spelling(nodes[0]).strip() or None


def _parsed(path: str, *, from_root: bool = False) -> RecordPath | None:
    try:
        return root_path(path) if from_root else place_path(path)
    except ValueError:  # a name that no path can have
        return None


def _joined(path: str, name: str) -> str:
    return f"{path}/{name}" if path else name


def _spelled(name: str) -> str:
    """A name as a step of a path (RFC 6901, 3)."""
    return name.replace("~", "~0").replace("/", "~1")


def _local(name: str) -> str:
    return name.rpartition("}")[2]
