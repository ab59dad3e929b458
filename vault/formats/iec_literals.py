"""Literals of IEC 61131-3 as exact values: numbers of any base, durations, texts, truth values.

After IEC 61131-3, 6.3 (from memory): `1_000`, `16#FF`, `LREAL#1.5`, `T#4ms`, `'text'`, `TRUE`. A
duration becomes whole microseconds where it is a number of these. XML of older tools has durations
as `PT0.004S` too (XML Schema part 2, 3.2.6).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from vault.model.export import Scalar
from vault.model.quantities import exact_decimal

_LONGEST = 400  # characters; far above any number or name that a program holds
_SMALLEST, _LARGEST = Decimal("1e-30"), Decimal("1e30")
_TYPED = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)#(.+)", re.DOTALL)
_DECIMAL = re.compile(r"[+-]?[0-9][0-9_]*(?:\.[0-9][0-9_]*)?(?:[eE][+-]?[0-9]{1,3})?")
_BASED = re.compile(r"([+-]?)(2|8|16)#([0-9A-Fa-f][0-9A-Fa-f_]*)")
_DURATION_TYPES = frozenset(["t", "time", "lt", "ltime"])
_PARTS = re.compile(r"([0-9][0-9_]*(?:\.[0-9_]+)?)(d|h|ms|us|ns|m|s)", re.IGNORECASE)
_ISO = re.compile(r"PT(?:([0-9]{1,6})H)?(?:([0-9]{1,9})M)?(?:([0-9]{1,12}(?:\.[0-9]{1,9})?)S)?")
_MICROSECONDS = {
    "d": Fraction(86_400_000_000), "h": Fraction(3_600_000_000), "m": Fraction(60_000_000),
    "s": Fraction(1_000_000), "ms": Fraction(1000), "us": Fraction(1), "ns": Fraction(1, 1000),
}  # fmt: skip
_ESCAPES = {
    "$$": "$", "$'": "'", '$"': '"', "$l": "\n", "$n": "\n", "$p": "\f", "$r": "\r", "$t": "\t",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Literal:
    """What a literal says: its value, and the unit where it is a duration."""

    value: Scalar
    unit: str = ""


def literal(text: str) -> Literal | None:
    """What a text is as a literal; None where it is none, as a name of a variable."""
    text = text.strip()
    if not text or len(text) > _LONGEST:
        return None
    if text[0] in "'\"":
        return _text(text)
    if text.upper() in ("TRUE", "FALSE"):
        return Literal(text.upper())
    if (based := _BASED.fullmatch(text)) is not None:
        return _based(*based.groups())
    if (typed := _TYPED.fullmatch(text)) is not None:
        return _typed(typed[1].casefold(), typed[2].strip())
    return _number(text)


def microseconds(text: str) -> Scalar | None:
    """A duration in microseconds, as IEC or XML writes it, or as seconds without a unit."""
    if (found := literal(text)) is not None and found.unit == "us":
        return found.value
    iso = _ISO.fullmatch(text.strip().upper()) if len(text) < _LONGEST else None
    if iso is not None and any(iso.groups()):
        hours, minutes, seconds = (Fraction(part or 0) for part in iso.groups())
        return _whole((hours * 3600 + minutes * 60 + seconds) * 1_000_000)
    return None


def _typed(kind: str, rest: str) -> Literal | None:
    if kind in _DURATION_TYPES:
        found = _duration(rest)
        return None if found is None else Literal(found, "us")
    if kind == "bool" and rest in ("0", "1"):
        return Literal("TRUE" if rest == "1" else "FALSE")
    inner = literal(rest)
    return inner if inner is not None and not inner.unit else None


def _number(text: str) -> Literal | None:
    if _DECIMAL.fullmatch(text) is None:
        return None
    number = Decimal(text.replace("_", ""))
    if number and not _SMALLEST <= abs(number) <= _LARGEST:
        return None  # nothing of a machine; written out it would fill a page
    whole = "." not in text and "e" not in text.lower()
    return Literal(int(number) if whole else number)


def _based(sign: str, base: str, digits: str) -> Literal | None:
    try:
        number = int(digits.replace("_", ""), int(base))
    except ValueError:
        return None
    if number > _LARGEST:
        return None
    return Literal(-number if sign == "-" else number)


def _duration(text: str) -> Scalar | None:
    """`4ms`, `1s_500ms`, `-2.5s`; None where it is no duration."""
    sign, text = (-1, text[1:]) if text.startswith("-") else (1, text.removeprefix("+"))
    total, at = Fraction(0), 0
    for part in _PARTS.finditer(text):
        if text[at : part.start()].strip("_"):
            return None
        total += Fraction(part[1].replace("_", "").rstrip(".")) * _MICROSECONDS[part[2].lower()]
        at = part.end()
    return _whole(sign * total) if at and not text[at:].strip("_") else None


def _whole(number: Fraction) -> Scalar | None:
    return int(number) if number.denominator == 1 else exact_decimal(number)


def _text(text: str) -> Literal | None:
    mark = text[0]
    if len(text) < 2 or text[-1] != mark:
        return None
    found = re.sub(r"\$.", lambda hit: _ESCAPES.get(hit[0].lower(), hit[0]), text[1:-1])
    return Literal(found)
