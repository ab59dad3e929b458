"""XML read safely, each value with its line and its place in the file's own bytes.

So a value can be replaced without touching any other byte. A document type declaration is refused,
and with it every entity but the five of XML itself: nothing is fetched, nothing grows.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, NamedTuple
from xml.parsers import expat

from vault.model.errors import Unreadable, WrongUsage

_HEAD_BYTES = 64 * 1024
_MOST_BYTES = 32 * 1024 * 1024
_DEEPEST = 100
_MOST_ELEMENTS = 500_000
_MOST_ATTRIBUTES = 2_000_000
_BLANKS = " \t\r\n"

# Well-formedness is expat's to judge; these only find places in what it has accepted. They see
# one byte a code unit, so that UTF-16 is searched as the encodings that extend ASCII are.
_TAG = re.compile(rb"<([^\s/>]+)(?:[^>\"']+|\"[^\"]*\"|'[^']*')*+>")
_ATTRIBUTE = re.compile(rb"\s+([^\s=/>]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
_PIECE = re.compile(rb"<!\[CDATA\[(.*?)\]\]>|<!--.*?-->|<\?.*?\?>|[^<]+", re.DOTALL)
# Characters that no XML 1.0 text holds (XML 1.0, 2.2).
_NO_CHARACTER = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_CUT_OFF = {
    expat.errors.codes[message]
    for message in (
        expat.errors.XML_ERROR_NO_ELEMENTS,
        expat.errors.XML_ERROR_UNCLOSED_TOKEN,
        expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
        expat.errors.XML_ERROR_PARTIAL_CHAR,
    )
}


Form = Literal["double", "single", "text", "cdata", "empty", "split"]


class Value(NamedTuple):
    """An attribute's value, or an element's text before its first child without blanks around it.

    `start` and `end` are the bytes of its spelling in the file. `form` says how it is spelled:
    `empty` is the end of an element `<a/>`, `split` a text that comments take apart.
    """

    text: str
    start: int
    end: int
    line: int
    form: Form


@dataclass(slots=True)
class XmlElement:
    """One element; `attributes` by name, `{namespace}name` where that has one.

    `start` and `end` are the bytes that it takes up in the file, its tags and all within.
    `goes_on` is one with text behind a child too.
    """

    tag: str
    namespace: str
    line: int
    attributes: dict[str, Value]
    value: Value
    children: list[XmlElement] = field(default_factory=list)
    start: int = 0
    end: int = 0
    goes_on: bool = False

    @property
    def text(self) -> str:
        """Its text before the first child, without blanks around it."""
        return self.value.text

    def get(self, name: str) -> str | None:
        """Text of an attribute, None where it has none of that name."""
        found = self.attributes.get(name)
        return None if found is None else found.text

    def child(self, tag: str) -> XmlElement | None:
        """First child of that name, in whatever namespace."""
        return next(self.named(tag), None)

    def named(self, tag: str) -> Iterator[XmlElement]:
        """Children of that name, in whatever namespace."""
        return (child for child in self.children if child.tag == tag)

    def walk(self) -> Iterator[XmlElement]:
        """This element and all below it, in the order of the file."""
        waiting = [self]
        while waiting:
            element = waiting.pop()
            yield element
            waiting += reversed(element.children)


@dataclass(frozen=True, slots=True)
class XmlText:
    """A whole file: its root element, its bytes, and the Python codec that they are in."""

    root: XmlElement
    content: bytes
    codec: str

    def replaced(
        self, changes: Iterable[tuple[Value, str]], without: Iterable[XmlElement] = ()
    ) -> bytes:
        """The file with other texts in place of some values and `without` some elements.

        Every other byte is as it was. Raises WrongUsage for a text that XML cannot hold, for a
        value that comments take apart, and for what is replaced or taken out twice.
        """
        edits = [(one.start, one.end, self.spelled(one, text), one.line) for one, text in changes]
        edits += [(one.start, one.end, b"", one.line) for one in without]
        edits.sort(key=lambda edit: edit[:2])
        for (start, end, *_), (next_start, *_, line) in pairwise(edits):
            if next_start < end or next_start == start:
                raise WrongUsage(f"a value in line {line} is replaced twice")
        parts, at = [], 0
        for start, end, spelled, _ in edits:
            parts += [self.content[at:start], spelled]
            at = end
        return b"".join([*parts, self.content[at:]])

    def spelled(self, value: Value, text: str) -> bytes:
        """A text as it is written in place of a value. Raises WrongUsage as `replaced` does."""
        try:
            plain = escaped(text, quote=value.form in ("double", "single"))
        except WrongUsage as error:
            error.line = value.line
            raise
        if value.form == "split":
            reason = "a comment or the like stands within the text, which is left as it is"
            raise WrongUsage(reason, line=value.line)
        if value.form == "cdata":
            try:
                return text.replace("]]>", "]]]]><![CDATA[>").encode(self.codec)
            except UnicodeEncodeError as error:
                reason = f"{text!r} cannot be written as {self.codec} text"
                raise WrongUsage(reason, line=value.line) from error
        if value.form == "empty":
            if not text:
                return self.content[value.start : value.end]
            plain = f">{plain}</{self._name_at(value)}>"
        return plain.encode(self.codec, "xmlcharrefreplace")

    def _name_at(self, value: Value) -> str:
        """Name of the element that ends at a value, as its tag spells it."""
        mark = "<".encode(self.codec)
        start = self.content.rfind(mark, 0, value.start)
        while (value.start - start) % len(mark):  # halves of two other characters
            start = self.content.rfind(mark, 0, start + len(mark) - 1)
        return self.content[start : value.start].decode(self.codec)[1:].split(maxsplit=1)[0]


def escaped(text: str, *, quote: bool = False) -> str:
    """A text as XML spells it; with `quote` within quotes of either kind. Raises WrongUsage."""
    if found := _NO_CHARACTER.search(text):
        raise WrongUsage(f"{found[0]!r} cannot be written to XML")
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    text = text.replace("\r", "&#13;")
    if quote:
        text = text.replace('"', "&quot;").replace("'", "&apos;")
        text = text.replace("\n", "&#10;").replace("\t", "&#9;")
    return text


class _RootSeen(Exception):
    """What follows is not read."""


def root_of(content: bytes) -> tuple[str | None, str]:
    """Name and attributes' texts of the root element; nothing behind it is read."""
    parser = expat.ParserCreate()
    found: list[tuple[str, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        found.append((name.rpartition(":")[2], " ".join(attributes.values()).lower()))
        raise _RootSeen

    parser.StartElementHandler = start
    # An encoding that Python has not is a LookupError.
    with suppress(_RootSeen, expat.ExpatError, LookupError, ValueError):
        parser.Parse(content[:_HEAD_BYTES], False)
    return found[0] if found else (None, "")


def read_xml(content: bytes, *, file: str) -> XmlText:
    """Read a whole XML file in its declared encoding.

    Raises Unreadable, with the line, for what is no well-formed XML, for document types and
    entities of its own, and for what is too large, too deep or has too many elements.
    """
    if len(content) > _MOST_BYTES:
        reason = f"XML of more than {_MOST_BYTES // 2**20} MiB is not read"
        raise Unreadable(reason, file=file, line=1)
    if not content.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    return _Reader(content, file).read()


def xml_head(content: bytes, size: int) -> XmlText | None:
    """As much of a file as its first bytes hold, without texts of elements that go on behind it.

    None where there is no element; what is wrong behind the first is for `read_xml` to say.
    """
    return _Reader(content[:size], "").read_head(is_whole=len(content) <= size)


class _Reader:
    def __init__(self, content: bytes, file: str) -> None:
        self._content, self._file = content, file
        # Encodings by their begin: XML 1.0, appendix F.
        self._unit, self._codec = 1, "utf-8"
        if content.startswith((codecs.BOM_UTF16_LE, b"<\0")):
            self._unit, self._codec = 2, "utf-16-le"
        elif content.startswith((codecs.BOM_UTF16_BE, b"\0<")):
            self._unit, self._codec = 2, "utf-16-be"
        self._units = content if self._unit == 1 else _units(content, self._codec)
        # A space cannot stand in the name of a namespace, so it parts that from the tag.
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.buffer_text = True
        self._parser.ordered_attributes = True
        self._parser.XmlDeclHandler = self._declared
        self._parser.StartDoctypeDeclHandler = self._document_type
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._characters
        self._root: XmlElement | None = None
        self._open: list[tuple[XmlElement, int]] = []  # with the end of its tag, in units
        self._texts: list[list[str]] = []
        self._count = self._attribute_count = 0

    def read(self) -> XmlText:
        try:
            self._parser.Parse(self._content, True)
        except expat.ExpatError as error:
            reason = f"this is no well-formed XML: {expat.ErrorString(error.code)}"
            if error.code in _CUT_OFF:
                reason = "the XML ends before it is complete: it seems cut off"
            raise Unreadable(reason, file=self._file, line=error.lineno) from error
        except (LookupError, ValueError) as error:  # an encoding that Python has not, or wide
            raise self._refusal(f"its encoding is not read: {error}") from error
        assert self._root is not None
        return XmlText(self._root, self._content, self._codec)

    def read_head(self, *, is_whole: bool) -> XmlText | None:
        with suppress(expat.ExpatError, Unreadable, LookupError, ValueError):
            self._parser.Parse(self._content, is_whole)
        return XmlText(self._root, self._content, self._codec) if self._root else None

    def _refusal(self, reason: str) -> Unreadable:
        return Unreadable(reason, file=self._file, line=self._parser.CurrentLineNumber)

    def _declared(self, _version: str, encoding: str | None, _alone: int) -> None:
        if encoding is None or self._unit == 2:
            return
        ascii_text = bytes(range(128))
        try:
            if ascii_text.decode(encoding) != ascii_text.decode("ascii"):
                raise LookupError(encoding)
        except (LookupError, ValueError) as error:
            raise self._refusal(f"its encoding {encoding!r} is not read") from error
        self._codec = codecs.lookup(encoding).name

    def _document_type(self, *_: object) -> None:
        raise self._refusal("it declares a document type, which may hide anything: not read")

    def _start(self, name: str, attributes: list[str]) -> None:
        self._count += 1
        self._attribute_count += len(attributes) // 2
        if self._count > _MOST_ELEMENTS or self._attribute_count > _MOST_ATTRIBUTES:
            raise self._refusal(f"it has more than {_MOST_ELEMENTS} elements or as many values")
        if len(self._open) >= _DEEPEST:
            raise self._refusal(f"its elements are nested more than {_DEEPEST} deep")
        start, line = self._parser.CurrentByteIndex, self._parser.CurrentLineNumber
        tag = _TAG.match(self._units, start // self._unit)
        if tag is None:
            raise self._refusal("its encoding is another than it declares")
        namespace, _, local = name.rpartition(" ")
        values = self._attributes(tag, attributes, line)
        nothing = self._value("", tag.end(), tag.end(), line, "text")
        element = XmlElement(
            local, namespace, line, values, nothing, start=start // self._unit * self._unit
        )
        if self._open:
            parent, parent_end = self._open[-1]
            if not parent.children:
                parent.value = self._text(parent.line, parent_end, tag.start())
            parent.children.append(element)
        else:
            self._root = element
        self._open.append((element, tag.end()))
        self._texts.append([])

    def _attributes(self, tag: re.Match[bytes], given: list[str], line: int) -> dict[str, Value]:
        values: dict[str, Value] = {}
        at, rest = tag.end(1), iter(given)
        while (found := _ATTRIBUTE.match(self._units, at)) is not None:
            at = found.end()
            if found[1] == b"xmlns" or found[1].startswith(b"xmlns:"):
                continue
            name, text = next(rest), next(rest)
            if " " in name:
                name = "{" + name.replace(" ", "}", 1)
            form: Form = "double" if found[2] is not None else "single"
            group = 2 if form == "double" else 3
            values[name] = self._value(text, found.start(group), found.end(group), line, form)
        return values

    def _value(self, text: str, start: int, end: int, line: int, form: Form) -> Value:
        return Value(text, start * self._unit, end * self._unit, line, form)

    def _characters(self, text: str) -> None:
        element = self._open[-1][0]
        if not element.children:
            self._texts[-1].append(text)
        elif text.strip(_BLANKS):
            element.goes_on = True

    def _end(self, _name: str) -> None:
        element, tag_end = self._open.pop()
        is_empty = self._units[tag_end - 2 : tag_end] == b"/>"
        end = self._parser.CurrentByteIndex // self._unit
        closed = tag_end if is_empty else self._units.index(b">", end) + 1
        element.end = closed * self._unit
        if element.children:
            self._texts.pop()
            return
        if is_empty:
            self._texts.pop()
            element.value = self._value("", tag_end - 2, tag_end, element.line, "empty")
            return
        element.value = self._text(element.line, tag_end, end)
        self._texts.pop()

    def _text(self, line: int, start: int, end: int) -> Value:
        """Text of the innermost element, from its tag to its first child or its own end."""
        text = "".join(self._texts[-1]).strip(_BLANKS)
        if b"<" not in self._units[start:end]:
            return self._trimmed(text, start, end, line, "text")
        pieces = [
            (piece.start(1), piece.end(1), True) if piece[1] is not None else (*piece.span(), False)
            for piece in _PIECE.finditer(self._units, start, end)
            if piece[1] or (piece[0][:1] != b"<" and piece[0].strip())
        ]
        if not pieces:
            return self._value("", start, start, line, "text")
        first, last, in_section = pieces[0]
        if len(pieces) > 1:
            return self._value(text, first, pieces[-1][1], line, "split")
        return self._trimmed(text, first, last, line, "cdata" if in_section else "text")

    def _trimmed(self, text: str, start: int, end: int, line: int, form: Form) -> Value:
        spelled = self._units[start:end]
        blank = len(spelled) - len(spelled.lstrip(_BLANKS.encode()))
        kept = len(spelled.strip(_BLANKS.encode()))
        lines = max(spelled[:blank].count(b"\n"), spelled[:blank].count(b"\r"))
        if not kept:
            blank = lines = 0
        return self._value(text, start + blank, start + blank + kept, line + lines, form)


def _units(content: bytes, codec: str) -> bytes:
    """UTF-16 as one byte a code unit: ASCII as it is, all else as FFh."""
    even, odd = content[0::2], content[1::2]
    low, high = (even, odd) if codec.endswith("le") else (odd, even)
    plain = low.translate(bytes([*range(128), *[255] * 128]))
    if not any(high):
        return plain
    return bytes(255 if above else unit for unit, above in zip(plain, high, strict=False))
