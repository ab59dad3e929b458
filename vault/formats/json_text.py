"""JSON (RFC 8259) read with the place of each value, so that one can be replaced alone.

Numbers stay as they are spelled. What the RFC leaves to readers is refused here: keys that stand
twice are told, NaN and half characters are no values.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from json import decoder
from typing import Literal

from vault.formats.text_encoding import decode, with_edits
from vault.model.cached_property import cached_property
from vault.model.errors import Unreadable, WrongUsage

_DEEPEST = 100
_MOST_VALUES = 1_000_000
_TOKEN = re.compile(
    r"[ \t\r\n]*(?:(?P<mark>[{}\[\],:])"
    r'|"(?P<plain>[^"\\\x00-\x1f]*)"'
    r"|(?P<number>-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?)(?![\w.+-])"
    r"|(?P<word>true|false|null)(?!\w)"
    r'|(?P<quote>")|(?P<end>\Z))',
    re.ASCII,
)
_BLANKS = re.compile(r"[ \t\r\n]*")
_NO_TEXT = re.compile("[\0\ud800-\udfff]")
_CODECS = {"utf-8-sig": "utf-8", "utf-16": "utf-16-le", "utf-16-be-sig": "utf-16-be"}

Kind = Literal["object", "list", "string", "number", "word"]


class JsonValue:
    """A value: `text` is what a string says, the spelling of a number or of a word.

    `start` and `end` are its places in the decoded text, `begin` that of its key where it has one.
    `key` is the name it goes by, of an item of a list that of the list. `is_doubtful` is one whose
    key stands twice.
    """

    __slots__ = ("begin", "end", "is_doubtful", "items", "key", "kind", "members", "start", "text")

    def __init__(self, kind: Kind, text: str, begin: int, start: int, end: int, key: str) -> None:
        self.kind, self.text, self.key = kind, text, key
        self.begin, self.start, self.end = begin, start, end
        self.is_doubtful = False
        self.members: dict[str, JsonValue] = {} if kind == "object" else _NO_MEMBERS
        self.items: list[JsonValue] = [] if kind == "list" else _NO_ITEMS

    @property
    def parts(self) -> Sequence[JsonValue]:
        """Members of an object or items of a list, in the order of the file."""
        return self.items if self.kind == "list" else [*self.members.values()]


# Most values have neither; one of each for all of them takes half of the memory.
_NO_MEMBERS: dict[str, JsonValue] = {}
_NO_ITEMS: list[JsonValue] = []


class JsonText:
    """A text and its outermost value; `twice` are the places of keys that stand there again."""

    def __init__(self, text: str, content: bytes, encoding: str) -> None:
        self.text, self.content, self.encoding = text, content, encoding
        self.twice: list[tuple[int, str]] = []
        self.root = JsonValue("object", "", 0, 0, 0, "")

    @cached_property
    def _line_ends(self) -> list[int]:
        mark = "\n" if "\n" in self.text else "\r"
        return [found.start() for found in re.finditer(mark, self.text)]

    def line_of(self, place: int) -> int:
        """Number of the line that a place in the text is in, from 1."""
        return bisect_right(self._line_ends, place - 1) + 1

    def replaced(
        self, changes: Iterable[tuple[JsonValue, str]], without: Iterable[JsonValue] = ()
    ) -> bytes:
        """The file with other spellings of some values, and without some, each with its comma.

        Raises WrongUsage where one is replaced twice.
        """
        gone = _spans_without(self.root, {id(value) for value in without})
        edits = [(v.start, v.end, spelled) for v, spelled in changes]
        edits = sorted([*edits, *((start, end, "") for start, end in gone)])
        for (_, end, _), (start, _, _) in pairwise(edits):
            if start < end:
                raise WrongUsage(f"a value in line {self.line_of(start)} is replaced twice")
        return with_edits(self.content, self.text, self.encoding, edits)

    def quoted(self, text: str) -> str:
        """A string as this file spells its own: with escapes alone where it is all ASCII."""
        codec = _CODECS.get(self.encoding, self.encoding)
        is_plain = self.text.isascii() or text.encode(codec, "ignore").decode(codec) != text
        return json.dumps(text, ensure_ascii=is_plain)


def read_json(content: bytes, encodings: Sequence[str], *, file: str) -> JsonText:
    """Read a whole file, in the first of the encodings that fits, or UTF-16.

    Raises Unreadable, with the line, for what is no JSON, is cut off, too deep or too large.
    """
    text, encoding = decode(content, _encodings(content, encodings), file=file)
    read = JsonText(text, content, encoding)
    _Scanner(read, file).scan()
    return read


def json_head(content: bytes, encodings: Sequence[str], size: int) -> JsonText:
    """As much of a file as its first bytes hold; nothing is said of faults behind that."""
    is_whole = len(content) <= size
    text, encoding = decode(content[:size], _encodings(content, encodings), final=is_whole)
    read = JsonText(text, content, encoding)
    try:
        _Scanner(read, "").scan()
    except Unreadable:
        return read
    return read


def _encodings(content: bytes, encodings: Sequence[str]) -> Sequence[str]:
    """Encodings to try; UTF-16 where one of the first two bytes is empty (RFC 4627, 3)."""
    return (*encodings, "utf-16") if content[:2].count(0) == 1 else encodings


class _Scanner:
    """Goes through a text once, without recursion."""

    def __init__(self, read: JsonText, file: str) -> None:
        self._read, self._file = read, file
        self._open: list[JsonValue] = []
        self._begin = self._count = 0
        self._key = ""

    def scan(self) -> None:
        text, at, place = self._read.text, 0, "value"
        while place != "end":
            token = _TOKEN.match(text, at)
            if token is None:
                raise self._refusal(_BLANKS.match(text, at).end(), place)  # type: ignore[union-attr]
            kind, at = token.lastgroup, token.end()
            start = token.start(kind or 0)
            if kind == "end":
                raise self._refused(start, "the JSON ends before it is complete: it seems cut off")
            said = token[kind or 0]
            if kind == "plain":
                start -= 1
            elif kind == "quote":
                said, at = self._string(start)
                kind = "plain"
            if kind == "mark":
                place = self._mark(said, start, place)
            elif kind == "plain" and place in ("key", "first key"):
                self._key, self._begin, place = self._checked(said, start), start, "colon"
            elif place in ("value", "first item"):
                self._add(self._value(kind, said, start, at))
                place = "next" if self._open else "end"
            else:
                raise self._refusal(start, place)
        if (rest := _TOKEN.match(text, at)) is None or rest.lastgroup != "end":
            raise self._refused(at, "something stands behind the end of the JSON")

    def _mark(self, mark: str, start: int, place: str) -> str:
        """What may follow a mark."""
        around = self._open[-1].kind if self._open else ""
        if mark in "{[" and place in ("value", "first item"):
            value = self._value("object" if mark == "{" else "list", "", start, start)
            self._add(value)
            self._open.append(value)
            if len(self._open) > _DEEPEST:
                raise self._refused(start, f"it is nested more than {_DEEPEST} deep")
            return "first key" if mark == "{" else "first item"
        if mark == ":" and place == "colon":
            return "value"
        if mark == "," and place == "next":
            return "key" if around == "object" else "value"
        if (mark == "}" and around == "object" and place in ("next", "first key")) or (
            mark == "]" and around == "list" and place in ("next", "first item")
        ):
            self._open.pop().end = start + 1
            return "next" if self._open else "end"
        raise self._refusal(start, place)

    def _value(self, kind: str | None, said: str, start: int, end: int) -> JsonValue:
        self._count += 1
        if self._count > _MOST_VALUES:
            raise self._refused(start, f"it has more than {_MOST_VALUES} values")
        around = self._open[-1] if self._open else None
        in_object = around is not None and around.kind == "object"
        key = self._key if in_object else around.key if around is not None else ""
        if kind == "plain":
            kind, said = "string", self._checked(said, start)
        begin = self._begin if in_object else start
        return JsonValue(kind, said, begin, start, end, key)  # type: ignore[arg-type]

    def _add(self, value: JsonValue) -> None:
        if not self._open:
            self._read.root = value
        elif self._open[-1].kind == "list":
            self._open[-1].items.append(value)
        elif (first := self._open[-1].members.setdefault(value.key, value)) is not value:
            first.is_doubtful = True
            self._read.twice.append((value.begin, value.key))

    def _string(self, start: int) -> tuple[str, int]:
        try:
            said, end = decoder.scanstring(self._read.text, start + 1, True)  # type: ignore[attr-defined]
        except json.JSONDecodeError as error:
            if error.msg.startswith("Unterminated"):
                reason = "the JSON ends within a text: it seems cut off"
                raise self._refused(start, reason) from error
            raise self._refused(error.pos, f"this is no JSON: {error.msg}") from error
        return said, end

    def _checked(self, said: str, start: int) -> str:
        if _NO_TEXT.search(said):
            raise self._refused(start, "a text holds NUL or half of a character")
        return said

    def _refusal(self, at: int, place: str) -> Unreadable:
        wanted = {"colon": "a colon", "next": "a comma or an end", "key": "a key in quotes"}
        text = self._read.text[at : at + 20].split()
        found = f", {text[0]!r} stands there" if text else ""
        missing = wanted.get(place.removeprefix("first "), "a value")
        return self._refused(at, f"this is no JSON: {missing} is missing{found}")

    def _refused(self, at: int, reason: str) -> Unreadable:
        return Unreadable(reason, file=self._file, line=self._read.line_of(at))


def _spans_without(root: JsonValue, gone: set[int]) -> Iterator[tuple[int, int]]:
    """Spans to take out, so that commas are between what stays; of neighbours one span."""
    waiting = [root] if gone else []
    while waiting:
        parts = waiting.pop().parts
        waiting += [part for part in parts if part.kind in ("object", "list")]
        first = None
        for n, part in enumerate(parts):
            if id(part) not in gone:
                if first is not None:
                    yield parts[first].begin, part.begin
                first = None
            elif first is None:
                first = n
        if first is not None:
            yield (parts[first - 1].end if first else parts[0].begin), parts[-1].end
