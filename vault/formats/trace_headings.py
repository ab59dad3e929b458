"""Which channel of a trace a heading names, and its unit: `position actual [mm]`, `Istlage (mm)`.

The words are English and German ones of the trade (common practice, no source); numbers of objects
are those of CiA 402-2, from memory.
"""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

from vault.model.quantities import UnknownUnit, canonical_unit

_OBJECTS = {
    0x6062: "position_demand", 0x60FC: "position_demand", 0x607A: "position_demand",
    0x6064: "position_actual", 0x6063: "position_actual",
    0x606B: "velocity_demand", 0x60FF: "velocity_demand", 0x606C: "velocity_actual",
    0x6071: "torque_demand", 0x6074: "torque_demand", 0x6077: "torque_actual",
    0x6078: "current_actual", 0x60F4: "following_error",
}  # fmt: skip
_OBJECT = re.compile(r"(?:0x)?(60[0-9a-f]{2})h?(?:[:. ]\s*0*)?", re.I)
_BRACKETS = re.compile(r"^(.*?)\s*(?:\[([^\[\]]*)\]|\(([^()]*)\)|\{([^{}]*)\})\s*$", re.S)
_BEHIND = re.compile(r"^(.*?\w)\s*(?:/| in )\s*([^\s/][^,;]*)$", re.S)
_WORDS = re.compile(r"[a-z]+")

_TIME = {"time", "zeit", "t", "timestamp", "zeitstempel", "zeitpunkt"}
_LAG = re.compile(
    r"following err|lag err|position err|position dev|contour err|schlepp|regelabweichung|lag\b"
    r"|track\w* err|lagefehler"
)
_DEMAND = re.compile(
    r"\b(demand\w*|set ?points?|set|command\w*|cmd|reference|ref|target|desired|nominal|soll\w*)\b"
    r"|sollwert|\w+soll\b"
)
_QUANTITIES = (
    ("velocity", re.compile(r"veloc|speed|geschw|drehzahl|\bv\b|\bvel\b|\brpm\b")),
    ("torque", re.compile(r"torq|moment|\bforce|kraft|\btrq\b")),
    ("current", re.compile(r"current|strom")),
    ("position", re.compile(r"posit|\bpos\b|lage|\bweg\b|\bway\b|\bplace\b|istweg|sollweg")),
)


class Heading(NamedTuple):
    """A heading taken apart: the channel it names (None for none of ours) and its unit's text."""

    channel: str | None
    unit: str | None


def read_heading(text: str) -> Heading:
    """Take a heading apart; `unit` is None where it has none."""
    name, unit = split_unit(text)
    return Heading(channel_of(name), unit)


def split_unit(text: str) -> tuple[str, str | None]:
    """Name and unit of a heading: in brackets behind it, or after a slash or `in`."""
    found = _BRACKETS.match(text)
    if found:
        unit = next(part for part in found.groups()[1:] if part is not None).strip()
        if unit and is_unit(unit):
            return found[1].strip(), unit
        if unit:
            return found[1].strip() or text, unit if not channel_of(unit) else None
    found = _BEHIND.match(text)
    if found and is_unit(found[2].strip()):
        return found[1].strip(), found[2].strip()
    return text.strip(), None


def is_unit(text: str) -> bool:
    """Whether a text is a unit that we know."""
    try:
        return canonical_unit(text) is not None
    except (UnknownUnit, ValueError):
        return False


def channel_of(name: str) -> str | None:
    """The channel that a name stands for; None for none of ours."""
    plain = _plain(name)
    found = _OBJECT.match(plain)
    if found and (channel := _OBJECTS.get(int(found[1], 16))):
        return channel
    words = set(_WORDS.findall(plain))
    if _LAG.search(plain) and not words & {"velocity", "speed", "window", "limit"}:
        return "following_error"
    for quantity, pattern in _QUANTITIES:
        if pattern.search(plain):
            is_demand = _DEMAND.search(plain) is not None
            if quantity == "current":
                return None if is_demand else "current_actual"
            return f"{quantity}_{'demand' if is_demand else 'actual'}"
    return "time" if words & _TIME else None


def _plain(name: str) -> str:
    """Small letters without accents; marks between words are blanks."""
    apart = re.sub(r"(?<=[a-zäöü])(?=[A-Z])", " ", name)
    flat = unicodedata.normalize("NFKD", apart).casefold()
    flat = "".join(mark for mark in flat if not unicodedata.combining(mark))
    return " ".join(re.sub(r"[_\-./:]+", " ", flat).split())
