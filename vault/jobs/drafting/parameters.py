"""The parameters of a draft: what the exports state of each, and the roles they may have."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.jobs.drafting.dialects import truth_of
from vault.jobs.families.hazard_roles import needs_confirmation, stake
from vault.jobs.families.suggest import Candidate, Suggestion, suggest
from vault.model.datatypes import DECIMAL
from vault.model.export import Entry, Listing, Scalar
from vault.model.quantities import UnknownUnit, canonical_unit

if TYPE_CHECKING:
    from vault.formats.describe.description import Description

TEXT = "VISIBLE_STRING"
TRUTH = "UNSIGNED8"
_ACCEPTED = 0.8
"""From here a role of no hazard is taken as it is suggested (our own choice)."""
_MOST_WORDS = 12


@dataclass(frozen=True, slots=True)
class DraftParameter:
    """One parameter as the draft has it; `remark` is what a person should know of it.

    `role` is what needs no confirmation; with `confirm` the first of `suggested` waits for it.
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

    @property
    def urgency(self) -> float:
        """How much depends on its role, times how unsure that is."""
        if not self.suggested:
            return 0.0
        best = self.suggested[0]
        return stake(best.role) * (1.05 - best.confidence)


@dataclass(slots=True)
class _Seen:
    """All that the exports state of one code."""

    first: Entry
    numbers: int = 0
    texts: dict[str, None] = field(default_factory=dict)


def draft_parameters(
    listings: Sequence[Listing], descriptions: Sequence[Description] = ()
) -> tuple[DraftParameter, ...]:
    """The parameters of all listings, in the order in which the exports have them."""
    seen: dict[str, _Seen] = {}
    for listing in listings:
        for entry in listing.entries:
            one = seen.setdefault(entry.code, _Seen(entry))
            if isinstance(entry.written, str):
                one.texts.setdefault(entry.written)
            else:
                one.numbers += 1
    found = list(seen.values())
    suggestions = suggest([_candidate(one) for one in found])
    taken: set[str] = set()
    made = []
    for one, suggested in zip(found, suggestions, strict=True):
        parameter = _made(one, suggested, taken)
        if parameter.role:
            taken.add(parameter.role)
        made.append(parameter)
    return tuple(made)


def _unit(entry: Entry) -> tuple[str | None, str]:
    try:
        return (canonical_unit(entry.unit) if entry.unit else None), ""
    except UnknownUnit:
        return None, f"nobody knows its unit {entry.unit!r}: it is kept as text"


def _candidate(one: _Seen) -> Candidate:
    entry = one.first
    words = tuple(one.texts)[:_MOST_WORDS]
    return Candidate(
        code=entry.code,
        name=entry.name or entry.code,
        unit=entry.unit or None,
        is_text=not one.numbers and not truth_of(words),
        words=words,
        read_only=entry.access in ("ro", "const"),
    )


def _made(one: _Seen, suggested: tuple[Suggestion, ...], taken: Iterable[str]) -> DraftParameter:
    entry = one.first
    unit, remark = _unit(entry)
    words = tuple(one.texts)
    choices = {} if one.numbers else truth_of(words)
    if one.numbers:
        kind = DECIMAL.name
        if words:
            remark = f"not always a number: {words[0]!r} is refused"
    else:
        kind = TRUTH if choices else TEXT
    best = suggested[0] if suggested else None
    role = None
    if best is not None and best.confidence >= _ACCEPTED and best.role not in taken:
        role = None if needs_confirmation(best.role) else best.role
    is_number = kind == DECIMAL.name
    return DraftParameter(
        code=entry.code,
        name=entry.name or entry.code,
        unit=unit if is_number else None,
        type=kind,
        role=role,
        suggested=suggested,
        confirm=best is not None and role is None,
        choices=choices,
        low=_number(entry.low) if is_number else None,
        high=_number(entry.high) if is_number else None,
        default=_default(entry, is_number),
        access=entry.access if entry.access in ("ro", "wo", "const") else "rw",
        shown=entry.text or str(entry.written),
        remark=remark,
    )


def _number(bound: Scalar | None) -> Decimal | None:
    return Decimal(bound) if isinstance(bound, int | Decimal) else None


def _default(entry: Entry, is_number: bool) -> Scalar | None:
    if is_number == isinstance(entry.default, int | Decimal):
        return entry.default
    return None
