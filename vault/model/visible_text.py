"""Text that shows all there is to it: nothing in it can hide, reorder or command what stands there.

An export or a person may write characters that turn the direction of what follows, so that a value
reads as another one, or that a terminal takes for orders.
"""

from __future__ import annotations

import json
import re
from pathlib import PurePath
from unicodedata import category

# Controls but tab and line ends, marks of direction (Unicode Standard Annex 9, table 1), what has
# no width, notes and tags that nobody sees, and halves of characters, which no encoding takes.
_HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f"
    "\ufeff\ufff9-\ufffb\U000e0000-\U000e007f\ud800-\udfff]"
)
_LINE_ENDS = re.compile("[\r\n]")
STAND_IN = "\N{REPLACEMENT CHARACTER}"

_BLANKS = dict.fromkeys((0x115F, 0x1160, 0x2800, 0x3164, 0xFFA0), " ")
"""Signs that count as letters and show nothing."""


def visible(text: str) -> str:
    """The text with a mark in place of each character that does something unseen."""
    return text if text.isprintable() else _HIDDEN.sub(STAND_IN, text)


def visible_line(text: str) -> str:
    """A line for a terminal or log: what would end it, or go back to its begin, is marked too."""
    return text if text.isprintable() else _LINE_ENDS.sub(STAND_IN, visible(text))


def visible_json(text: str) -> str:
    """JSON text that says the same, with an escape for each character that does something unseen.

    Between its tokens there are no such characters: they stand within strings (RFC 8259).
    """
    return _HIDDEN.sub(lambda found: json.dumps(found[0])[1:-1], text)


def one_line(text: str | None) -> str:
    """What somebody wrote as one printable line, empty where it says nothing."""
    line = " ".join(_printable(text or "", " ").translate(_BLANKS).split())
    return line if any(category(sign)[0] in "LNPS" for sign in line) else ""


def several_lines(text: str | None) -> str:
    """What somebody wrote as printable lines, such as a commit message can carry."""
    lines = (text or "").replace("\r\n", "\n")
    return "".join(sign for sign in lines if sign.isprintable() or sign in "\n\t").strip()


def log_line(text: str) -> str:
    """A line of a log that others had a say in: as long as it was, with `?` for what is odd."""
    return _printable(text, "?")


def escaped(text: str | PurePath) -> str:
    """A text or path as any terminal and reader of JSON takes it: odd signs are escaped."""
    return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in str(text))


def _printable(text: str, instead: str) -> str:
    return "".join(sign if sign.isprintable() else instead for sign in text)
