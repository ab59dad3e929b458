"""Reading numbers as exports and people write them: decimal comma, thousands separators, hex."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from vault.model.bounds import reckonable, short_enough

_SIGNS = str.maketrans({"\u2212": "-", "\u2013": "-"})


_LONGEST = 3200  # Python writes numbers of 4,300 digits at most; an exponent and a scale add some


@lru_cache(maxsize=32)
def _patterns(
    decimal: str, thousands: str, noughts_first: bool
) -> tuple[re.Pattern[str], re.Pattern[str]]:
    mark, group = re.escape(decimal), re.escape(thousands)
    first = r"\d" if noughts_first else "[1-9]"
    digits = rf"(?:{first}\d{{0,2}}(?:{group}\d{{3}})+|\d+)" if thousands else r"\d+"
    whole = re.compile(rf"[+-]?{digits}")
    real = re.compile(rf"[+-]?(?:{digits}(?:{mark}\d*)?|{mark}\d+)(?:[eE][+-]?\d{{1,3}})?")
    return whole, real


def parse_number(
    text: str, decimal: str = ".", thousands: str = "", noughts_first: bool = False
) -> int | Decimal | None:
    """Read a number exactly: int without decimal mark or exponent, else Decimal.

    Accepts a sign, leading zeros, `0x1F`, and thousands separators in groups of three, of which the
    first does not begin with a nought (`0.125` has another decimal mark) unless `noughts_first`;
    None where the whole text is not a number. Raises ValueError for one of thousands of digits.
    """
    text = text.strip().translate(_SIGNS)
    if text.isascii() and text.isdigit():
        return int(_short(text))
    whole, real = _patterns(decimal, thousands, noughts_first)
    if whole.fullmatch(text):
        return int(_short(text.replace(thousands, "") if thousands else text))
    if real.fullmatch(text):
        if thousands:
            text = text.replace(thousands, "")
        return Decimal(_short(text).replace(decimal, "."))
    if re.fullmatch(r"[+-]?0[xX][0-9A-Fa-f]+", text):
        return int(_short(text), 16)
    return None


def _short(text: str) -> str:
    if len(text) > _LONGEST:
        raise ValueError(f"{text[:20]}… is too long for a number")
    return text


_BLANKS = str.maketrans("", "", " '\u2019\u00a0\u202f")
_IN_GROUPS = re.compile(r"[1-9]\d{0,2}(?:[.,]\d{3})+")


def typed_number(text: str, *, decimal_comma: bool = False) -> Decimal:
    """Read a number as a person types it, or as we print it: `1,200`, `0,625`, `1 200.5`.

    Of a comma and a point in one number the last is the decimal mark. A single mark before three
    digits parts thousands where it is not the decimal mark (`decimal_comma`), and where the number
    does not begin with a nought. Raises ValueError, OutOfBounds for what nobody reckons with.
    """
    bare = short_enough(text).strip().translate(_SIGNS).translate(_BLANKS)
    number, exponent_mark, exponent = bare.partition("e" if "e" in bare else "E")
    mark = _decimal_mark(number.lstrip("+-"), decimal_comma)
    other = "." if mark == "," or (mark is None and "." in number) else ","
    whole, _, fraction = number.partition(mark) if mark else (number, "", "")
    groups = whole.lstrip("+-").split(other)
    if other in fraction or (len(groups) > 1 and not _IN_GROUPS.fullmatch(other.join(groups))):
        raise ValueError(f"{text!r} is no number")
    digits = whole.replace(other, "") + (f".{fraction}" if fraction else "")
    typed = digits + exponent_mark + exponent
    if not re.fullmatch(r"[+-]?\d+(\.\d+)?([eE][+-]?\d{1,9})?", typed, re.ASCII):
        raise ValueError(f"{text!r} is no number")
    return reckonable(Decimal(typed))


def _decimal_mark(number: str, decimal_comma: bool) -> str | None:
    """The decimal mark of a number; None where it has none."""
    comma, point = number.rfind(","), number.rfind(".")
    if comma >= 0 and point >= 0:
        return "," if comma > point else "."
    mark = "," if comma >= 0 else "." if point >= 0 else None
    if mark is None or number.count(mark) > 1:
        return None
    is_usual = mark == ("," if decimal_comma else ".")
    return mark if is_usual or not _IN_GROUPS.fullmatch(number) else None


# IEC 61131-3 (`16#1F`, `2#101`, with underscores), C (`0b101`), and a letter behind (common
# practice, no source); each from memory.
_MARKED = re.compile(
    r"(?P<sign>[+-]?)(?:16#(?P<h1>[0-9A-F]+(?:_[0-9A-F]+)*)|(?P<h2>\d[0-9A-F]*)H"
    r"|(?:2#|0B)(?P<b1>[01]+(?:_[01]+)*)|(?P<b2>[01]+)B|8#(?P<o>[0-7]+(?:_[0-7]+)*))",
    re.IGNORECASE | re.ASCII,
)


def marked_number(text: str) -> int | None:
    """Read a number whose mark names its base: `16#1F4`, `1F4h`, `2#101`, `0b101`, `101b`, `8#17`.

    None for any other text, `0x1F4` too. Raises ValueError for one of thousands of digits.
    """
    found = _MARKED.fullmatch(_short(text.strip()))
    if found is None:
        return None
    for group, base in (("h1", 16), ("h2", 16), ("b1", 2), ("b2", 2), ("o", 8)):
        if digits := found[group]:
            return int(found["sign"] + digits, base)
    return None
