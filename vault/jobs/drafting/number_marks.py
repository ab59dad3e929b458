"""How an export spells its numbers: decimal mark, thousands, bases, and units behind them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from vault.formats.rows import number_and_unit
from vault.jobs.drafting.raw_table import Guess
from vault.model.numerals import marked_number, parse_number
from vault.model.quantities import UnknownUnit, canonical_unit

_SPELLINGS = (
    (".", ""), (",", ""), (".", ","), (",", "."), (",", " "), (".", "'"), (",", "'"), (".", " "),
    (",", "\u00a0"), (",", "\u202f"), (".", "\u00a0"), (".", "\u202f"),
)  # fmt: skip
_MARKED = re.compile(r"(?:16#|0[xXbB]|2#|8#)[0-9A-Fa-f_]+|\d[0-9A-Fa-f]*[hH]|[01]+[bB]")
_NOUGHT_FIRST = re.compile(r"[-+\u2212\u2013]?0\d*[^\d]\d")  # 0.500 is no five hundred
_ADDRESS = re.compile(r"(?:\d{1,3}\.){3}\d{1,3}")
_HAS_MARK = re.compile(r"[-+]?\d+[.,]\d+")
_IN_DOUBT = re.compile(r"[-+]?[1-9]\d{0,2}[.,]\d{3}")


@dataclass(frozen=True, slots=True)
class Marks:
    """How numbers are spelled, with the guesses that lie in it."""

    decimal: str
    thousands: str
    unit_in_value: bool
    hex_and_binary: bool
    guesses: tuple[Guess, ...]


def marks_of(values: Sequence[str], bounds: Iterable[str], *, comma_likely: bool) -> Marks:
    """Tell how numbers are spelled by all the texts that may be some.

    `bounds` are texts of the same spelling beside the values; `comma_likely` is what the rest of
    the file says of its decimal mark, for numbers that leave it open.
    """
    units = [parted for text in values if (parted := with_unit(text))]
    unit_in_value = len(units) > 0
    marked = any(is_marked(text) for text in values)
    numbers = [text for text in values if text and not is_marked(text)]
    numbers = [units_number(text) or text for text in numbers]
    numbers += [text for text in bounds if text]
    numbers = [text for text in numbers if any(map(str.isdigit, text)) and not is_address(text)]
    best = _fitting(numbers)
    usual = ("," if comma_likely else ".", "")
    if not best:
        return Marks(*usual, unit_in_value, marked, ())
    best.sort(key=lambda one: (one[0] != usual[0], bool(one[1])))
    decimal, thousands = best[0]
    guesses: tuple[Guess, ...] = ()
    doubtful = [text for text in numbers if _IN_DOUBT.fullmatch(text)]
    odd = [text for text in numbers if _HAS_MARK.fullmatch(text)]
    odd = [text for text in odd if not _parses(text, decimal, thousands)]
    if len({d for d, _ in best}) > 1:
        other = "," if decimal == "." else "."
        sure, reason = 0.6, "no number here has a decimal mark"
        if doubtful or odd:
            sure = 0.5
            reason = f"{(doubtful or odd)[0]!r} " + (
                "may be either" if doubtful else "is spelled otherwise"
            )
        guesses = (Guess("decimal", decimal, sure, reason, (other,)),)
    return Marks(decimal, thousands, unit_in_value, marked, guesses)


def _fitting(numbers: Sequence[str]) -> list[tuple[str, str]]:
    """The spellings by which most of the texts are numbers, those that need no more first."""
    counts: dict[tuple[str, str], int] = {}
    kinds = Counter(numbers)
    for decimal, thousands in _SPELLINGS:
        if thousands and not any(thousands in text for text in kinds):
            continue
        counts[decimal, thousands] = sum(
            count for text, count in kinds.items() if _parses(text, decimal, thousands)
        )
    most = max(counts.values(), default=0)
    return [spelling for spelling, count in counts.items() if count == most] if most else []


def _parses(text: str, decimal: str, thousands: str) -> bool:
    if thousands in text and thousands and _NOUGHT_FIRST.match(text):
        return False
    try:
        return parse_number(text, decimal, thousands) is not None
    except ValueError:
        return False


def is_marked(text: str) -> bool:
    """Whether a text is a number with a mark of its base, as `0x1F4`."""
    text = text.strip()
    if not _MARKED.fullmatch(text.split(" ")[0] if " " in text else text):
        return False
    try:
        return marked_number(text) is not None or text[:2].casefold() == "0x"
    except ValueError:
        return False


def with_unit(text: str) -> tuple[str, str] | None:
    """Number and unit of a text such as `12.5 mm/s`; None where it is none."""
    number, behind = number_and_unit(text.strip())
    unit = behind.strip().strip("[]")
    if not unit or is_marked(text):
        return None
    try:
        known = canonical_unit(unit)
    except UnknownUnit:
        return None
    return (number, unit) if known is not None else None


def units_number(text: str) -> str:
    """The number of a text that has a unit behind it; empty where it has none."""
    parted = with_unit(text)
    return parted[0] if parted else ""


def is_address(text: str) -> bool:
    """Whether a text is an address of the internet protocol, and no number in groups (RFC 791)."""
    return bool(_ADDRESS.fullmatch(text)) and all(int(part) < 256 for part in text.split("."))
