"""Values as CiA 306 spells them: hex, octal, `$NODEID+…`, two's complement, reals, octets."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache

from vault.model.datatypes import DataType
from vault.model.export import Scalar
from vault.model.wording import plural

# Lengths are bounded so that a hostile file cannot make numbers of a million digits.
_LONGEST_NUMBER = 100
_NUMBER = re.compile(r"([+-]?)\s*(0[xX])?\s*([+-]?)\s*([0-9A-Fa-f]{1,64})", re.ASCII)
_REAL = re.compile(
    r"[+-]?(?:[0-9]{1,400}(?:\.[0-9]{0,400})?|\.[0-9]{1,400})(?:[eE][+-]?[0-9]{1,3})?"
)
_NODE_FIRST = re.compile(r"\$\s*NODEID(?:\s*\+\s*(.+))?", re.IGNORECASE)
_NODE_LAST = re.compile(r"(.+?)\s*\+\s*\$\s*NODEID", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
_OCTETS = re.compile(r"(?:[0-9a-f]{2})+")
# Above half a step beyond the largest finite number, rounding gives infinity (IEEE 754, 4.3.1).
_REAL_END = {32: 2**128 - 2**103, 64: 2**1024 - 2**970}
_TRUTH = {"true": 1, "false": 0}


class BadValue(ValueError):
    """A text that its data type does not take; the message is the reason."""


class NeedsNodeId(BadValue):
    """A text that is relative to the node id, which is not known."""


def number(text: str, node_id: int | None = None) -> int:
    """Read a whole number: decimal, `0x` hex, octal after a leading 0, or with `$NODEID`.

    The irregular `0x-5` is -5. A comment after ';' is left out. Raises BadValue.
    """
    return _whole(_bare(text), node_id)[0]


def value(text: str, kind: DataType, node_id: int | None = None) -> Scalar:
    """Read a value of a data type exactly. Raises BadValue."""
    if kind.family == "text":
        return text
    bare = _bare(text)
    if kind.family == "octets":
        return _octets(bare, kind)
    if kind.family == "real":
        return _real(bare, kind)
    if kind.family == "boolean" and bare.lower() in _TRUTH:
        return _TRUTH[bare.lower()]
    found, hexadecimal = _whole(bare, node_id)
    low, high = kind.low or 0, kind.high or 0
    if hexadecimal and high < found < 2**kind.bits:  # two's complement
        found -= 2**kind.bits
    if not low <= found <= high:
        raise BadValue(f"{_shown(bare)} lies outside {kind.name} ({low} to {high})")
    return found


def spelled(written: Scalar, kind: DataType) -> str:
    """Write a value so that it reads back the same. Raises BadValue where that cannot be."""
    if kind.is_whole and isinstance(written, Decimal) and written.is_finite():
        # Only numbers that may fit: 1E+999999 must not become a million digits.
        whole = written.adjusted() < 30 and written == written.to_integral_value()
        written = int(written) if whole else written
    text = plain_text(str(written))
    back = value(text, kind)
    if back != written or isinstance(back, str) != isinstance(written, str):
        raise BadValue(f"{_shown(text)} would read back as {back!r}")
    return text


def plain_text(text: str) -> str:
    """Return the text if an INI file holds it unaltered. Raises BadValue otherwise."""
    if not text:
        raise BadValue("an empty text cannot be told from no value")
    if text != text.strip():
        raise BadValue(f"{_shown(text)} begins or ends with a blank")
    if _CONTROL.search(text):
        raise BadValue(f"{_shown(text)} holds a line break or another control character")
    return text


def _shown(text: str) -> str:
    return repr(text if len(text) <= 40 else f"{text[:40]}…")


def _bare(text: str) -> str:
    return text.partition(";")[0].strip() if ";" in text else text


def _whole(text: str, node_id: int | None) -> tuple[int, bool]:
    """The number, and whether it is unsigned hex, which may mean two's complement."""
    if len(text) > _LONGEST_NUMBER:
        raise BadValue(f"{_shown(text)} is no whole number")
    if "$" not in text:
        return _plain_whole(text)
    found = _NODE_FIRST.fullmatch(text) or _NODE_LAST.fullmatch(text)
    if found is None:
        raise BadValue(f"{_shown(text)} is no whole number")
    if node_id is None:
        raise NeedsNodeId(f"{text!r} needs the node id, which the file does not state")
    return node_id + (_plain_whole(found[1])[0] if found[1] else 0), False


# Bulk loading meets the same few thousand spellings over and over.
@lru_cache(maxsize=1 << 14)
def _plain_whole(text: str) -> tuple[int, bool]:
    found = _NUMBER.fullmatch(text)
    if found is None or (found[1] and found[3]) or (found[3] and not found[2]):
        raise BadValue(f"{_shown(text)} is no whole number")
    digits, sign = found[4], -1 if "-" in (found[1], found[3]) else 1
    if found[2]:
        return sign * int(digits, 16), not (found[1] or found[3])
    if not digits.isdigit():
        raise BadValue(f"{_shown(text)} is no whole number")
    if digits[0] != "0":
        return sign * int(digits), False
    if "8" in digits or "9" in digits:
        raise BadValue(f"{_shown(text)} is octal by its leading 0, but holds an 8 or 9")
    return sign * int(digits, 8), False


def _real(text: str, kind: DataType) -> Decimal:
    if text.lower().lstrip("+-") in ("nan", "inf", "infinity"):
        raise BadValue(f"{text!r} is no finite number")
    if not _REAL.fullmatch(text):
        raise BadValue(f"{_shown(text)} is no decimal number")
    found = Decimal(text)
    if found.copy_abs() >= _REAL_END[kind.bits]:
        raise BadValue(f"{_shown(text)} lies outside {kind.name}")
    return found


def _octets(text: str, kind: DataType) -> str:
    digits = "".join(octet.removeprefix("0x") for octet in text.lower().split())
    if not _OCTETS.fullmatch(digits):
        raise BadValue(f"{_shown(text)} is no row of octets in hex")
    if kind.bits and len(digits) * 4 != kind.bits:
        octets = kind.bits // 8
        has = plural(len(digits) // 2, "octet")
        raise BadValue(f"{_shown(text)} has {has}; {kind.name} has {octets}")
    return digits
