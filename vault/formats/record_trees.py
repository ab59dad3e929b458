"""XML and JSON as trees in which the paths of a dictionary lead to records and to their texts.

Both answer alike, so that `records` does not ask which of them a file is. A chain is a place with
all that is around it, the outermost first.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from vault.formats.json_text import JsonText, JsonValue, json_head, read_json
from vault.formats.xml_text import Value, XmlElement, XmlText, read_xml, xml_head
from vault.model.errors import WrongUsage
from vault.model.numerals import parse_number
from vault.model.record_path import RecordPath, Step


class Name(NamedTuple):
    """The name that a place goes by, where it is itself what a path leads to."""

    text: str
    line: int


Node = XmlElement | Value | JsonValue | Name
Chain = tuple[Node, ...]


class Tree(ABC):
    """What `records` asks of a file, whichever of the two it is."""

    name: str
    encoding: str
    outermost: XmlElement | JsonValue

    @property
    @abstractmethod
    def text(self) -> str:
        """All that was read, as text."""

    @abstractmethod
    def records(self, path: RecordPath) -> Iterator[tuple[Chain, str]]:
        """Every place that a path from the root leads to, with how a person finds it."""

    def reach(
        self,
        chain: Chain,
        path: RecordPath,
        past: Container[int] = (),
        first: Container[int] = (),
    ) -> list[Node]:
        """What a path leads to, from a place or from the root (an empty chain).

        No step leads to a place whose `id` is in `past`, nor beside one whose `id` is in `first`.
        """
        chain = chain or (self.outermost,)
        nodes: list[Node] = [chain[-1 - path.up]] if path.up < len(chain) else []
        for step in path.steps:
            below = (found for node in nodes for found in self._children(node, step))
            nodes = [found for found in below if id(found) not in past]
            nodes = [found for found in nodes if id(found) in first] or nodes
        return nodes

    @abstractmethod
    def _children(self, node: Node, step: Step) -> Iterable[Node]:
        """Where one step leads to."""

    @abstractmethod
    def cell(self, node: Node) -> str | int | Decimal:
        """Text or number of a place, empty where it has none. Raises ValueError with a reason."""

    def spelling(self, node: Node) -> str:
        """Text of a place, of a number as it is spelled."""
        return node.text

    @abstractmethod
    def line(self, node: Node) -> int:
        """Number of the line that it begins in, from 1."""

    def twice(self) -> Iterator[tuple[int, str]]:
        """Names that stand twice where only one may: line and name."""
        return iter(())  # well-formed XML has no attribute twice

    @abstractmethod
    def fitting(self, code: str, node: Node, text: str) -> str:
        """A text as the place of a code holds it. Raises WrongUsage that names the code."""

    @abstractmethod
    def replaced(self, changes: Iterable[tuple[Node, str]], gone: Iterable[Node]) -> bytes:
        """The file with other fitting texts in some places, and without some places."""


def is_xml(content: bytes) -> bool:
    """Whether a file begins as XML does, and not as JSON."""
    start = content[:1024].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n\0")
    return start.startswith(b"<")


def read_tree(content: bytes, encodings: Sequence[str], *, file: str) -> Tree:
    """Read a whole file. Raises Unreadable with the line."""
    if is_xml(content):
        return XmlTree(read_xml(content, file=file))
    return JsonTree(read_json(content, encodings, file=file))


def head_tree(content: bytes, encodings: Sequence[str], size: int) -> Tree | None:
    """As much of a file as its first bytes hold. Raises Unreadable for what is no text."""
    if is_xml(content):
        head = xml_head(content, size)
        return None if head is None else XmlTree(head)
    return JsonTree(json_head(content, encodings, size))


class XmlTree(Tree):
    """XML by the local names of elements and attributes; the outermost place is the file itself."""

    name = "XML"

    def __init__(self, xml: XmlText) -> None:
        self._xml = xml
        self.encoding = xml.codec
        nothing = Value("", 0, 0, 1, "split")
        self.outermost = XmlElement("", "", 1, {}, nothing, children=[xml.root])

    @property
    def text(self) -> str:
        """All that was read, as text."""
        return self._xml.content.decode(self.encoding, "replace")

    def records(self, path: RecordPath) -> Iterator[tuple[Chain, str]]:
        """Every place that a path leads to, with its path."""
        return self._below((self.outermost,), "", path.steps)

    def _below(
        self, chain: Chain, place: str, steps: tuple[Step, ...]
    ) -> Iterator[tuple[Chain, str]]:
        if not steps:
            yield chain, place
            return
        around = chain[-1]
        assert isinstance(around, XmlElement)
        count = Counter(child.tag for child in around.children)
        number: Counter[str] = Counter()
        chosen = {id(node) for node in self._children(around, steps[0])}
        for child in around.children:
            number[child.tag] += 1
            if id(child) not in chosen:
                continue
            told = f"{child.tag}[{number[child.tag]}]" if count[child.tag] > 1 else child.tag
            yield from self._below((*chain, child), f"{place}/{told}" if place else told, steps[1:])

    def _children(self, node: Node, step: Step) -> Iterable[Node]:
        if not isinstance(node, XmlElement) or step.into:
            return ()
        if step.is_key:
            return (Name(node.tag, node.line),)
        if step.name.startswith("@"):
            name = step.name[1:]
            own = node.attributes.get(name)
            if own is not None:
                return (own,)
            ending = "}" + name
            return [value for key, value in node.attributes.items() if key.endswith(ending)][:1]
        found = node.children if step.name == "*" else [*node.named(step.name)]
        if step.where is None:
            return found
        path, text = step.where
        return [
            child
            for child in found
            if any(self.spelling(node) == text for node in self.reach((child,), path))
        ]

    def cell(self, node: Node) -> str:
        """Text or number of a place."""
        assert not isinstance(node, JsonValue)
        if isinstance(node, XmlElement) and node.goes_on and node.text:
            raise ValueError(f"the text of {node.tag} goes on behind <{node.children[0].tag}>")
        return node.text

    def line(self, node: Node) -> int:
        """Number of the line that a place begins in."""
        assert not isinstance(node, JsonValue)
        return node.line

    def fitting(self, code: str, node: Node, text: str) -> str:
        """A text as the place of a code holds it."""
        if isinstance(node, Name):
            raise WrongUsage(f"{code}: its value is the name of an element")
        try:
            self._xml.spelled(_value_of(node), text)
        except WrongUsage as error:
            raise WrongUsage(f"{code}: {error.message}", line=error.line) from error
        return text

    def replaced(self, changes: Iterable[tuple[Node, str]], gone: Iterable[Node]) -> bytes:
        """The file with other texts in some places, and without some."""
        return self._xml.replaced(
            ((_value_of(node), text) for node, text in changes),
            (node for node in gone if isinstance(node, XmlElement)),
        )


def _value_of(node: Node) -> Value:
    """The value that a place of XML holds."""
    value = node.value if isinstance(node, XmlElement) else node
    assert isinstance(value, Value)
    return value


class JsonTree(Tree):
    """JSON by its keys; of a list only what is in it is a place, and of a list in a list too."""

    name = "JSON"

    def __init__(self, read: JsonText) -> None:
        self._read = read
        self.encoding, self.outermost = read.encoding, read.root

    @property
    def text(self) -> str:
        """All that was read, as text."""
        return self._read.text

    def records(self, path: RecordPath) -> Iterator[tuple[Chain, str]]:
        """Every place that a path leads to, with its path."""
        return self._below((), self._read.root, "", path.steps)

    def _below(
        self, chain: Chain, at: JsonValue, place: str, steps: tuple[Step, ...]
    ) -> Iterator[tuple[Chain, str]]:
        if not steps:
            yield (*chain, at), place
            return
        step = steps[0]
        if at.kind == "object":
            chain = (*chain, at)
        starts = [(at, place)]
        if step.name:
            parent = f"{place}/" if place else ""
            starts = [(found, parent + found.key) for found in self._named(at, step)]
        for start, told in starts:
            yield from self._into(chain, start, told, step.into, steps[1:])

    def _into(
        self,
        chain: Chain,
        at: JsonValue,
        place: str,
        into: tuple[str, ...],
        steps: tuple[Step, ...],
    ) -> Iterator[tuple[Chain, str]]:
        if not into:
            yield from self._below(chain, at, place, steps)
        elif into[0] == "[]" and at.kind == "list":
            for number, item in enumerate(at.items, 1):
                yield from self._into(chain, item, f"{place}[{number}]", into[1:], steps)
        elif into[0] == "{}" and at.kind == "object":
            chain = chain if at in chain else (*chain, at)
            for key, member in at.members.items():
                if not member.is_doubtful:
                    told = f"{place}/{key}" if place else key
                    yield from self._into(chain, member, told, into[1:], steps)

    def _children(self, node: Node, step: Step) -> list[JsonValue] | list[Name]:
        if not isinstance(node, JsonValue):
            return []
        if step.is_key:
            return [Name(node.key, self.line(node))]
        found = self._named(node, step) if step.name else [node]
        for kind in step.into:
            parts = (one.items if kind == "[]" else one.members.values() for one in found)
            found = [part for among in parts for part in among if not part.is_doubtful]
        return found

    def _named(self, node: JsonValue, step: Step) -> list[JsonValue]:
        found: list[JsonValue] = []
        if step.name == "*":
            found = [*node.members.values()]
        elif node.kind == "object" and step.name in node.members:
            found = [node.members[step.name]]
        elif node.kind == "list" and step.name.isdecimal() and len(step.name) < 9:
            found = node.items[int(step.name) : int(step.name) + 1]
        found = [one for one in found if not one.is_doubtful]
        if step.where is None:
            return found
        path, text = step.where
        among = (part for one in found for part in (one.items if one.kind == "list" else [one]))
        return [
            part
            for part in among
            if any(self.spelling(node) == text for node in self.reach((part,), path))
        ]

    def cell(self, node: Node) -> str | int | Decimal:
        """Text or number of a place."""
        if not isinstance(node, JsonValue):
            return node.text
        if node.kind in ("object", "list"):
            raise ValueError(f"{node.key!r} is {_WHAT[node.kind]}, not a value")
        if node.kind == "number":
            try:
                number = parse_number(node.text)
            except ValueError:  # more digits than Python converts
                number = None
            return node.text if number is None else number
        return "" if node.kind == "word" and node.text == "null" else node.text

    def line(self, node: Node) -> int:
        """Number of the line that a place begins in."""
        if isinstance(node, JsonValue):
            return self._read.line_of(node.begin)
        assert isinstance(node, Name)
        return node.line

    def twice(self) -> Iterator[tuple[int, str]]:
        """Keys that stand twice in an object: line and key."""
        return ((self._read.line_of(place), key) for place, key in self._read.twice)

    def fitting(self, code: str, node: Node, text: str) -> str:
        """A text as the place of a code holds it."""
        if isinstance(node, Name):
            raise WrongUsage(f"{code}: its value is a key")
        assert isinstance(node, JsonValue)
        reason = ""
        if node.kind == "string":
            reason = "cannot be written to JSON" if _NO_TEXT.search(text) else ""
        elif node.kind == "word":
            text = {"1": "true", "0": "false"}.get(text, text)
            reason = "" if text in ("true", "false") else "the file has true or false there"
        elif not _NUMBER.fullmatch(text):
            reason = "the file has a number there"
        if reason:
            told = f"{code}: {text!r}: {reason}"
            raise WrongUsage(told, line=self._read.line_of(node.begin))
        return text

    def replaced(self, changes: Iterable[tuple[Node, str]], gone: Iterable[Node]) -> bytes:
        """The file with other texts in some places, and without some."""
        return self._read.replaced(
            (
                (node, self._read.quoted(text) if node.kind == "string" else text)
                for node, text in changes
                if isinstance(node, JsonValue)
            ),
            (node for node in gone if isinstance(node, JsonValue)),
        )


_NUMBER = re.compile(r"-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?", re.ASCII)  # RFC 8259, 6
_NO_TEXT = re.compile("[\0\ud800-\udfff]")
_WHAT = {"object": "an object", "list": "a list"}
