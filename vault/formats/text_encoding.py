"""Text encodings of exports: found strictly, recorded so that writing reproduces them."""

from __future__ import annotations

import codecs
import io
from itertools import islice
from typing import TYPE_CHECKING

from vault.model.errors import Unreadable, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Sequence

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig", "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be-sig", "utf-16-be"),  # our name: Python has none
)

HALF_CHARACTER = "\ufffd"
"""Stands at the end of a text that was cut off within a character."""

CUT_SHORT = "the file seems cut off"
"""What is said where a text ends before it should."""

_HEAD_BYTES = 64 * 1024


def split_lines(text: str, most: int | None = None) -> list[str]:
    """Lines with their ends: CR LF, LF or CR, and no other character; so many at most."""
    return list(islice(io.StringIO(text, newline=""), most))


def _candidates(content: bytes, encodings: Sequence[str]) -> list[tuple[str, str, int]]:
    """Encodings to try: the name to record, the codec, and the length of the mark.

    Raises LookupError for what is none, such as Python's codecs that unpack.
    """
    for mark, name, codec in _BOMS:
        if content.startswith(mark):
            return [(name, codec, len(mark))]
    for name in encodings:
        if not codecs.lookup(name)._is_text_encoding:
            raise LookupError(f"{name!r} is no encoding of text")
    narrow = [name for name in encodings if not codecs.lookup(name).name.startswith("utf-16")]
    sample = content[:1024]
    if b"\0" in sample and len(narrow) < len(encodings):
        little = sample[1::2].count(0) >= sample[0::2].count(0)
        codec = "utf-16-le" if little else "utf-16-be"
        return [(codec, codec, 0)]
    plain = ("utf-8" if codecs.lookup(n).name == "utf-8-sig" else n for n in narrow)
    return [(name, name, 0) for name in plain]


def _without_end(content: bytes, codec: str) -> str | None:
    """Text up to a character that the end of the content cuts in two; None for other faults."""
    try:
        return codecs.getincrementaldecoder(codec)("strict").decode(content) + HALF_CHARACTER
    except UnicodeError:
        return None


def decode(
    content: bytes,
    encodings: Sequence[str],
    *,
    file: str | None = None,
    final: bool = True,
    cut_off: bool = False,
) -> tuple[str, str]:
    """Decode strictly with the first encoding that fits; returns the text and its encoding.

    A byte order mark goes first. `final` is false for a file's head, which may end within a
    character; `cut_off` accepts a whole file that does, and puts `HALF_CHARACTER` in its place.
    The encoding is a Python codec name, or `utf-16-be-sig` for big-endian UTF-16 with a mark;
    `utf-8-sig` and `utf-16` (little-endian) had a mark too. Raises Unreadable with byte and line
    where nothing fits, or for NUL characters, which no text holds.
    """
    furthest = -1
    try:
        candidates = _candidates(content, encodings)
    except LookupError as error:
        raise Unreadable(f"the family's dictionary is wrong: {error}", file=file) from error
    for name, codec, skip in candidates:
        decoder = codecs.getincrementaldecoder(codec)("strict")
        try:
            text = decoder.decode(content[skip:], final)
        except UnicodeError as error:  # of some codecs without a place
            furthest = max(furthest, skip + getattr(error, "start", 0))
            ended = _without_end(content[skip:], codec) if cut_off else None
            # One odd byte at the end of plain ASCII is more likely of the next encoding.
            if ended is None or (ended[:-1].isascii() and len(candidates) > 1):
                continue
            text = ended
        if (nul := text.find("\0")) >= 0:
            line = len(split_lines(text[: nul + 1]))
            raise Unreadable("this is no text: it holds NUL characters", file=file, line=line)
        return text, name
    if not candidates:  # UTF-16 alone was listed, and nothing looks like it
        raise Unreadable(f"this is no {', '.join(encodings)} text", file=file, line=1)
    tried = ", ".join(name for name, _, _ in candidates)
    line = len(split_lines(content[: furthest + 1].decode("latin-1")))
    raise Unreadable(f"byte {furthest} does not fit {tried} text", file=file, line=line)


def head_text(
    content: bytes,
    encodings: Sequence[str] = ("utf-8", "windows-1252", "utf-16"),
    *,
    may_be_cut: bool = False,
) -> str | None:
    """The first 64 KiB as text; None where they are none.

    `may_be_cut` takes a shorter file that ends within a character.
    """
    final = not may_be_cut and len(content) <= _HEAD_BYTES
    try:
        return decode(content[:_HEAD_BYTES], encodings, final=final)[0]
    except Unreadable:
        return None


def encode(owned: Sequence[tuple[str, str]], encoding: str, line_end: str) -> bytes:
    """Encode lines, each with the name of what it is about.

    Raises WrongUsage that names the line's owner where a character does not fit the encoding.
    """
    mark, codec = next(((m, c) for m, name, c in _BOMS if name == encoding), (b"", encoding))
    text = line_end.join([*(line for _, line in owned), ""])
    try:
        encoded: bytes | None = mark + text.encode(codec)
    except LookupError as error:
        raise WrongUsage(f"no such text encoding: {encoding!r}") from error
    except UnicodeEncodeError:
        encoded = None
    if encoded is not None and "\0" not in text:
        return encoded
    owner, character = next(
        (owner, character)
        for owner, line in owned
        for character in line
        if character == "\0" or not character.encode(codec, "ignore")
    )
    raise WrongUsage(f"{owner}: {character!r} cannot be written as {encoding} text")


def with_edits(
    content: bytes, text: str, encoding: str, edits: Sequence[tuple[int, int, str]]
) -> bytes:
    """Put texts in place of others; every other byte stays.

    `text` and `encoding` are what `decode` made of the content. An edit is a place in the text,
    from and up to a character, and what is to stand there; edits are in order and apart.
    """
    mark, codec = next(((m, c) for m, name, c in _BOMS if name == encoding), (b"", encoding))
    pieces, at = [], 0
    for start, end, new in edits:
        pieces += [text[at:start], new]
        at = end
    pieces.append(text[at:])
    if mark + text.encode(codec) == content:
        return mark + "".join(pieces).encode(codec)
    places = _byte_places(content, codec, len(mark))  # a character has several codes (Shift-JIS)
    found, at = [mark], 0
    for start, end, new in edits:
        found += [content[places[at] : places[start]], new.encode(codec)]
        at = end
    return b"".join([*found, content[places[at] :]])


def _byte_places(content: bytes, codec: str, skip: int) -> list[int]:
    """Where each character begins, and the end of the content."""
    decoder = codecs.getincrementaldecoder(codec)("strict")
    places = [skip]
    for at in range(skip, len(content)):
        places += [at + 1] * len(decoder.decode(content[at : at + 1]))
    return places
