"""The parameters of a draft: what the exports state of each, and the roles they may have."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.jobs.drafting.described import Said, Seen, described_by_code, said_of
from vault.jobs.drafting.dialects import truth_of
from vault.jobs.drafting.number_marks import is_address
from vault.jobs.drafting.raw_table import Guess
from vault.jobs.families.hazard_roles import needs_confirmation, stake
from vault.jobs.families.suggest import OF_OBJECT, Candidate, Suggestion, suggest
from vault.model import roles
from vault.model.datatypes import DECIMAL
from vault.model.export import Entry, Listing, Scalar
from vault.model.parameters import canonical_code
from vault.model.quantities import UnknownUnit, canonical_unit
from vault.model.visible_text import one_line

if TYPE_CHECKING:
    from vault.formats.describe.description import Description
    from vault.model.names import Side

TEXT = "VISIBLE_STRING"
TRUTH = "UNSIGNED8"
_ACCEPTED = 0.8
"""From here a role of no hazard is taken as it is suggested (our own choice)."""
_MOST_WORDS, _SHOWN_CODES = 12, 4
_UNIT_BEHIND = re.compile(r"\[([^\[\]]+)\]\s*$")
_NUMBER_LIKE = re.compile(r"[-+]?\d+[.,]\d+")
_TEXTS = ("text", "identity", "version")
_RATED = ("torque", "rated_torque", "current", "rated_current")
_WHOLE = ("choice", "bits", "flag")


@dataclass(frozen=True, slots=True)
class DraftParameter:
    """One parameter as the draft has it; `remark` is what a person should know of it.

    `role` is what needs no confirmation; with `confirm` the first of `suggested` waits for it.
    `unit_doubt` is what nobody but a person can tell of its unit.
    """

    code: str
    name: str
    unit: str | None
    type: str
    role: str | None
    suggested: tuple[Suggestion, ...]
    confirm: bool
    choices: Mapping[int, str] = field(default_factory=dict)
    low: Decimal | None = None
    high: Decimal | None = None
    default: Scalar | None = None
    access: str = "rw"
    shown: str = ""
    remark: str = ""
    unit_doubt: str = ""

    @property
    def urgency(self) -> float:
        """How much depends on its role, times how unsure that is."""
        if not self.suggested:
            return 0.0
        best = self.suggested[0]
        return stake(best.role) * (1.05 - best.confidence)


@dataclass(slots=True)
class _Stated:
    """All that the exports state of one code, and what a description adds to it."""

    first: Entry
    unit: str | None
    remark: str
    doubt: str
    numbers: dict[int | Decimal, None] = field(default_factory=dict)
    texts: dict[str, None] = field(default_factory=dict)
    bounds: set[tuple[Scalar | None, ...]] = field(default_factory=set)
    said: Said = field(default_factory=Said)

    @property
    def name(self) -> str:
        """Its name, the code where nobody gives it one."""
        return self.first.name or self.said.name or self.first.code


def draft_parameters(
    listings: Sequence[Listing],
    descriptions: Sequence[Description] = (),
    heading: str = "",
    side: Side = "drive",
) -> tuple[DraftParameter, ...]:
    """The parameters of all listings, in the order in which the exports have them.

    What the exports leave open is taken from the `heading` of their values, as `Value [mm]`, and
    from descriptions, where it is certain.
    """
    stated = _stated(listings, heading)
    described = described_by_code(descriptions)
    for code, one in stated.items():
        if code in described:
            own = one.first.name
            seen = Seen(code, own, one.unit, tuple(one.numbers), tuple(one.texts))
            one.said = said_of(described[code], seen)
    suggestions = suggest([_candidate(one) for one in stated.values()], side)
    taken: set[str] = set()
    made = []
    for one, suggested in zip(stated.values(), suggestions, strict=True):
        parameter = _made(one, suggested, taken)
        if parameter.role:
            taken.add(parameter.role)
        made.append(parameter)
    return tuple(made)


def unit_questions(parameters: Iterable[DraftParameter]) -> tuple[Guess, ...]:
    """What a person should say of units: one question for all parameters that ask the same."""
    asked: dict[str, list[DraftParameter]] = {}
    for one in parameters:
        if one.unit_doubt:
            asked.setdefault(one.unit_doubt, []).append(one)
    return tuple(
        Guess("unit", found[0].unit or "", 0.5, f"{_told_codes(found)}: {doubt}")
        for doubt, found in asked.items()
    )


def _told_codes(found: Sequence[DraftParameter]) -> str:
    codes = [one_line(one.code) for one in found]
    more = f" and {len(codes) - _SHOWN_CODES} more" if len(codes) > _SHOWN_CODES else ""
    return f"{', '.join(codes[:_SHOWN_CODES])}{more}"


def _stated(listings: Iterable[Listing], heading: str) -> dict[str, _Stated]:
    """What the exports state, by code, object addresses spelled one way."""
    found: dict[str, _Stated] = {}
    for listing in listings:
        for entry in listing.entries:
            code = canonical_code(entry.code)
            one = found.get(code)
            if one is None:
                one = found[code] = _Stated(entry, *_unit(entry, heading))
            if isinstance(entry.written, str):
                one.texts.setdefault(entry.written)
            elif is_address(entry.text):
                one.texts.setdefault(entry.text)
            else:
                one.numbers.setdefault(entry.written)
            one.bounds.add((entry.low, entry.high, entry.default))
    return found


def _unit(entry: Entry, heading: str) -> tuple[str | None, str, str]:
    """The unit that is stated, else one in brackets behind name or heading; remark and doubt."""
    if entry.unit:
        try:
            unit = canonical_unit(entry.unit)
            canonical_unit(unit or "")  # not every unit is known by its own symbol, as of a furlong
            return unit, "", ""
        except UnknownUnit:
            doubt = f"nobody knows the unit {entry.unit!r}: it is kept as the export states it"
            return None, "", doubt
    for text, told in ((entry.name, "its name says the unit"), (heading, "the heading says it")):
        if behind := _UNIT_BEHIND.search(text):
            with suppress(UnknownUnit):
                return canonical_unit(behind[1]), told, ""
    return None, "", ""


def _candidate(one: _Stated) -> Candidate:
    entry = one.first
    words = tuple(one.texts)[:_MOST_WORDS]
    access = entry.access or one.said.access
    return Candidate(
        code=entry.code,
        name=one.name,
        unit=(None if one.doubt else entry.unit) or one.said.unit,
        is_text=not one.numbers and not (one.said.choices or truth_of(words)),
        words=words,
        read_only=access in ("ro", "const"),
    )


def _made(one: _Stated, suggested: tuple[Suggestion, ...], taken: Iterable[str]) -> DraftParameter:
    entry, said, words = one.first, one.said, tuple(one.texts)
    best = suggested[0] if suggested else None
    meant = roles.find(best.role) if best is not None else None
    choices = said.choices or ({} if one.numbers else truth_of(words))
    kind, remark = _type(one, choices, meant)
    doubt = one.doubt
    if one.unit == "percent" and meant is not None and meant.kind in _RATED:
        rating = meant.kind.removeprefix("rated_")
        doubt = f"percent may be of the rated {rating}: they are read as a plain ratio"
    role = None
    if (
        not one.doubt
        and best is not None
        and best.confidence >= _ACCEPTED
        and best.role not in taken
    ):
        is_odd = kind == TEXT and meant is not None and meant.kind in _WHOLE
        hides = meant is not None and meant.volatile and not _is_read_only(one, best)
        role = None if is_odd or hides or needs_confirmation(best.role) else best.role
    is_number = kind != TEXT and bool(one.numbers)
    low, high, default = _bounds(one, is_number)
    access = entry.access or said.access
    return DraftParameter(
        code=entry.code,
        name=one.name,
        unit=(one.unit or said.unit) if is_number else None,
        type=kind,
        role=role,
        suggested=suggested,
        confirm=best is not None and role is None,
        choices=choices,
        low=low,
        high=high,
        default=default,
        access=access if access in ("ro", "wo", "const") else "rw",
        shown=entry.text or str(entry.written),
        remark="; ".join(filter(None, (doubt, remark))),
        unit_doubt=doubt,
    )


def _is_read_only(one: _Stated, best: Suggestion) -> bool:
    """Whether a live value is meant for sure: as one, a setting would never be compared."""
    access = one.first.access or one.said.access
    return access in ("ro", "const") or best.confidence >= OF_OBJECT


def _type(one: _Stated, choices: Mapping[int, str], meant: roles.Role | None) -> tuple[str, str]:
    """The data type, and what a person should know of the values."""
    words, remarks = tuple(one.texts), [one.remark, *one.said.remarks]
    if not one.numbers:
        if any(map(_NUMBER_LIKE.fullmatch, words)):
            remarks.insert(0, f"{words[0]!r} is no number as the others are spelled")
        kind = one.said.type or (TRUTH if choices else TEXT)
    elif (meant is not None and meant.kind in _TEXTS and not one.unit) or any(
        word.isdigit() and word[0] == "0" for word in words
    ):
        kind = TEXT  # a version 2.10 is not 2.1, nor is a number 0012 one of 12
    else:
        kind = one.said.type or DECIMAL.name
        if words:
            remarks.insert(0, f"not always a number: {words[0]!r} is refused")
    return kind, "; ".join(filter(None, remarks))


def _bounds(one: _Stated, is_number: bool) -> tuple[Decimal | None, Decimal | None, Scalar | None]:
    """Range and default: where the exports agree on them, else what a description says."""
    low, high, default = next(iter(one.bounds)) if len(one.bounds) == 1 else (None, None, None)
    first, last = (_number(low), _number(high)) if is_number else (None, None)
    if first is not None and last is not None and first > last:
        first = last = None
    if first is None and last is None:
        first, last = one.said.low, one.said.high
    if default is None or is_number != isinstance(default, int | Decimal):
        default = one.said.default
    return first, last, default


def _number(bound: Scalar | None) -> Decimal | None:
    return Decimal(bound) if isinstance(bound, int | Decimal) else None
