"""Reading numbers as exports write them: decimal comma, thousands separators, hex."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

_SIGNS = str.maketrans({"\u2212": "-", "\u2013": "-"})


@lru_cache(maxsize=32)
def _patterns(decimal: str, thousands: str) -> tuple[re.Pattern[str], re.Pattern[str]]:
    mark, group = re.escape(decimal), re.escape(thousands)
    digits = rf"(?:\d{{1,3}}(?:{group}\d{{3}})+|\d+)" if thousands else r"\d+"
    whole = re.compile(rf"[+-]?{digits}")
    real = re.compile(rf"[+-]?(?:{digits}(?:{mark}\d*)?|{mark}\d+)(?:[eE][+-]?\d{{1,3}})?")
    return whole, real


def parse_number(text: str, decimal: str = ".", thousands: str = "") -> int | Decimal | None:
    """Read a number exactly: int without decimal mark or exponent, else Decimal.

    Accepts a sign, leading zeros, `0x1F`, and thousands separators in groups of three; None
    where the whole text is not a number.
    """
    text = text.strip().translate(_SIGNS)
    if text.isascii() and text.isdigit():
        return int(text)
    whole, real = _patterns(decimal, thousands)
    if whole.fullmatch(text):
        return int(text.replace(thousands, "") if thousands else text)
    if real.fullmatch(text):
        if thousands:
            text = text.replace(thousands, "")
        return Decimal(text.replace(decimal, "."))
    if re.fullmatch(r"[+-]?0[xX][0-9A-Fa-f]+", text):
        return int(text, 16)
    return None
