"""Which differences can explain a fault, and why."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING

from vault.meaning.fault_weights import WEIGHTS, Weight
from vault.model.errors import WrongUsage
from vault.model.fault_table import lineage, name_of

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.model.families import Family

_HEX = re.compile(r"(?:0x)?([0-9A-F]{4})H?", re.IGNORECASE)
# A change against the way that brings the fault on still tells something: it may hide it.
_WRONG_WAY = 0.25
_LEAST_EFFECT = 0.05


@dataclass(frozen=True, slots=True)
class FaultCode:
    """A fault: the code as the drive shows it, its name, and the standard code behind it."""

    code: str
    name: str
    standard: int | None


@dataclass(frozen=True, slots=True)
class Suspect:
    """A difference that can explain a fault: score 0 to 1, and why in words."""

    change: Change
    score: float
    why: str


def read_fault(text: str, family: Family | None) -> FaultCode:
    """Read a fault code: the family's own, else a standard one such as 8611, 8611h or 0x8611.

    Raises WrongUsage with the codes that are known.
    """
    wanted = text.strip()
    own = family.faults if family is not None else {}
    for code, fault in own.items():
        if code.casefold() == wanted.casefold():
            return FaultCode(code, fault.name, fault.standard)
    found = _HEX.fullmatch(wanted)
    standard = int(found[1], 16) if found else None
    if standard is not None:
        for code, fault in own.items():
            if fault.standard == standard:
                return FaultCode(code, fault.name, standard)
        if (name := name_of(standard)) is not None:
            return FaultCode(f"{standard:04X}h", name, standard)
    known = f"; {family.name} has {', '.join(own)}" if family is not None and own else ""
    raise WrongUsage(
        f"{text!r} is no fault code{known}",
        hint="give the drive's own code, or a standard one such as 8611h",
    )


def weights_for(fault: FaultCode) -> dict[str, Weight]:
    """Weight of each role for a fault: of the code itself, else of the group it belongs to."""
    if fault.standard is None:
        return {}
    return next((WEIGHTS[code] for code in lineage(fault.standard) if code in WEIGHTS), {})


def nearness(days: float) -> float:
    """How much a change counts that was made so many days before a fault: 1 at once, half after
    half a year, a tenth at least (our own judgement, common practice, no source)."""
    return float(max(0.1, 0.5 ** (max(days, 0.0) / 180)))


def suspects(changes: Iterable[Change], fault: FaultCode) -> list[Suspect]:
    """The changes that can explain a fault, best explanation first.

    Score = weight of the role for the fault x size of the physical effect. What was only restated,
    live values, and roles that have nothing to do with the fault are left out.
    """
    weights = weights_for(fault)
    found = []
    for change in changes:
        role = change.shown.role
        weight = weights.get(role.partition(".")[0]) if role else None
        if weight is not None and change.is_news:
            found.append(_suspect(change, weight))
    return sorted(found, key=lambda suspect: -suspect.score)


def _suspect(change: Change, weight: Weight) -> Suspect:
    ratio = _ratio(change)
    effect = 1.0 if ratio is None else min(1.0, max(_LEAST_EFFECT, abs(log2(ratio))))
    direction = _direction(change)
    against = weight.sign != "*" and direction not in ("*", weight.sign)
    score = weight.weight * effect * (_WRONG_WAY if against else 1)
    if against:
        return Suspect(change, score, f"it went the way that makes this fault rarer, and may hide "
                       f"it ({weight.reason})")  # fmt: skip
    return Suspect(change, score, weight.reason)


def _ratio(change: Change) -> float | None:
    """How many times as large the right side is; None where a size means nothing."""
    pair = _sizes(change)
    return pair[1] / pair[0] if pair is not None and pair[0] * pair[1] > 0 else None


def _direction(change: Change) -> str:
    """`+` where the right side has more, `-` where less, `*` where that means nothing."""
    pair = _sizes(change)
    if pair is None and change.left is not None and change.right is not None:
        flags = change.left.raw, change.right.raw
        pair = (float(flags[0]), float(flags[1])) if set(flags) == {0, 1} else None
    if pair is None or abs(pair[0]) == abs(pair[1]):
        return "*"
    return "+" if abs(pair[1]) > abs(pair[0]) else "-"


def _sizes(change: Change) -> tuple[float, float] | None:
    """Both sides as numbers of one unit; None where one is missing, a choice or text."""
    if change.ratio is not None:
        return 1.0, float(change.ratio)
    before, after = change.left_physical, change.right_physical
    if before is not None and after is not None and before.unit == after.unit:
        return float(before.number()), float(after.number())
    left, right = change.left, change.right
    if left is None or right is None or left.unit != right.unit or left.label or right.label:
        return None
    if isinstance(left.value, str) or isinstance(right.value, str):
        return None
    return float(left.value), float(right.value)
