"""Which differences can explain a fault, and why."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.scaling import TRAVEL_ROLES, UNIT_ROLES
from vault.meaning.fault_effects import effect_of
from vault.meaning.fault_weights import WEIGHTS, Weight
from vault.meaning.substitution import atom_of
from vault.model.errors import WrongUsage
from vault.model.fault_table import lineage, name_of

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.meaning.fault_sizes import FaultEffect
    from vault.meaning.substitution import Substitution
    from vault.model.families import Family

_HEX = re.compile(r"(?:0x)?([0-9A-F]{4})H?", re.IGNORECASE)
# A change against the way that brings the fault on still tells something: it may hide it.
_WRONG_WAY = 0.25
# A value that only means something else since another one changed is told after that one.
_SHIFTED = 0.5
# What rounds to nothing is not told.
_LEAST = 0.01
_RATINGS = ("rated_torque", "rated_current")


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


def suspects(changes: Iterable[Change], fault: FaultCode, between: Substitution) -> list[Suspect]:
    """The changes that can explain a fault, best explanation first.

    Score = weight of the role for the fault x what the change used up of the margins that the fault
    hangs on (`vault.meaning.fault_effects`). What was only restated, live values, roles that have
    nothing to do with the fault, and what does nothing to it are left out.
    """
    weights = weights_for(fault)
    news = [change for change in changes if change.is_news and change.shown.role]
    atoms = Counter(atom_of(str(change.shown.role)) for change in news)
    causes = {str(change.shown.role) for change in news} & set(weights)
    found: dict[tuple[str, str], list[Suspect]] = {}
    for change in news:
        role = str(change.shown.role)
        weight = weights.get(role.partition(".")[0])
        if weight is None:
            continue
        effect = effect_of(change, weight, between, alone=atoms[atom_of(role)] == 1)
        behind = _behind(change, causes)
        if effect is not None and (effect.brings or not behind):
            same = found.setdefault((atom_of(role), effect.told), [])
            same.append(_suspect(change, weight, effect, behind, told=same[0] if same else None))
    scored = [one for same in found.values() for one in same if one.score >= _LEAST]
    return sorted(scored, key=lambda suspect: -suspect.score)


def _suspect(
    change: Change,
    weight: Weight,
    effect: FaultEffect,
    behind: str,
    *,
    told: Suspect | None = None,
) -> Suspect:
    """Score and words; a figure that another one of its atom `told` is not told again."""
    score = weight.weight * effect.share * (1 if effect.brings else _WRONG_WAY)
    figure = effect.told
    if told is not None and effect.of_atom:
        figure = f"together with {told.change.shown.code}"
    why = f"{weight.reason}: {figure}" if figure else weight.reason
    if not effect.brings:
        why = f"it went the way that makes this fault rarer, and may hide it ({why})"
    if behind:
        return Suspect(change, score * _SHIFTED, f"{why}; behind it is {behind}")
    return Suspect(change, score, why)


def _behind(change: Change, causes: set[str]) -> str:
    """What shifted a value, where that is a suspect itself; else empty."""
    if change.kind != "shifted":
        return ""
    own = (f"motor_{change.cause}",) if change.cause in _RATINGS else (*TRAVEL_ROLES, *UNIT_ROLES)
    return str(change.cause).replace("_", " ") if causes.intersection(own) else ""
