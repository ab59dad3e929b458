"""Which differences can explain a fault, and why."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.scaling import TRAVEL_ROLES, UNIT_ROLES
from vault.meaning.changes import Change, Surrounding
from vault.meaning.fault_effects import effect_of
from vault.meaning.fault_records import effect_of_entry, entries, weight_name
from vault.meaning.fault_weights import WEIGHTS, Weight
from vault.meaning.substitution import TRANSMISSION, Substitution, atom_of, roles_apart
from vault.model.errors import WrongUsage
from vault.model.fault_table import lineage, name_of

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.fault_sizes import FaultEffect
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
    """A difference that can explain a fault: score 0 to 1, and why in words.

    Of the axis record it is a `Surrounding` whose path is the entry's key.
    """

    change: Change | Surrounding
    score: float
    why: str

    @property
    def name(self) -> str:
        """Role of the parameter, or key of the entry (`mechanics.gearbox`)."""
        if isinstance(self.change, Surrounding):
            return self.change.path
        return str(self.change.shown.role)

    @property
    def code(self) -> str:
        """The parameter, or the key of the entry."""
        return self.name if isinstance(self.change, Surrounding) else self.change.shown.code


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


def suspects(
    changes: Iterable[Change],
    fault: FaultCode,
    left: AxisView,
    right: AxisView,
    around: Iterable[Surrounding] = (),
    *,
    two_axes: bool = False,
) -> list[Suspect]:
    """The changes that can explain a fault, best explanation first.

    `around` is what differs of the axis record. Score = weight for the fault x what the change used
    up of the margins that the fault hangs on (`vault.meaning.fault_effects`). What was only
    restated, live values, roles that have nothing to do with the fault, and what does nothing to it
    are left out.
    """
    known = [change for change in changes if change.shown.role and not change.volatile]
    news = [change for change in known if change.is_news]
    rows = entries(around)
    between = Substitution(
        left,
        right,
        roles_apart(known),
        entries=[row.path for row in rows],
        two_axes=two_axes,
    )
    scored = _Scored(fault, news, rows, between)
    return sorted(scored.found(), key=lambda suspect: -suspect.score)


class _Scored:
    """The changes between two states, scored for a fault."""

    def __init__(
        self,
        fault: FaultCode,
        news: list[Change],
        rows: list[Surrounding],
        between: Substitution,
    ) -> None:
        self._weights = weights_for(fault)
        self._news, self._rows, self._between = news, rows, between
        names = [str(change.shown.role) for change in news] + [row.path for row in rows]
        self._atoms = Counter(map(atom_of, names))
        self._causes = {name for name in names if weight_name(name) in self._weights}
        self._scores: dict[str, float] = {}
        self._told: dict[tuple[str, str], str] = {}

    def found(self) -> Iterator[Suspect]:
        """Every change that does something to the fault, and what it shifted after it."""
        shifted: list[tuple[Change, set[str]]] = []
        for change in self._news:
            if behind := self._causes.intersection(_behind(change)):
                shifted.append((change, behind))
            else:
                yield from self._changed(change)
        for row in self._rows:
            weight = self._weights.get(weight_name(row.path))
            if weight is not None and (effect := effect_of_entry(row, weight, self._between)):
                yield from self._suspect(row, weight, effect)
        for change, behind in shifted:
            yield from self._changed(change, behind)

    def _changed(self, change: Change, behind: Collection[str] = ()) -> Iterator[Suspect]:
        role = str(change.shown.role)
        weight = self._weights.get(role.partition(".")[0])
        if weight is None:
            return
        alone = self._atoms[atom_of(role)] == 1
        effect = effect_of(change, weight, self._between, alone=alone)
        if effect is not None and (effect.brings or not behind):
            yield from self._suspect(change, weight, effect, behind)

    def _suspect(
        self,
        change: Change | Surrounding,
        weight: Weight,
        effect: FaultEffect,
        behind: Collection[str] = (),
    ) -> Iterator[Suspect]:
        """Score and words; a figure that another one of its atom told is not told again."""
        score = weight.weight * effect.share * (1 if effect.brings else _WRONG_WAY)
        suspect = Suspect(change, score, "")
        first = self._told.setdefault((atom_of(suspect.name), effect.figure), suspect.code)
        figure = effect.figure
        if first != suspect.code and effect.of_atom:
            figure = f"together with {first}"
        why = f"{weight.reason}: {figure}" if figure else weight.reason
        if not effect.brings:
            why = f"it went the way that makes this fault rarer, and may hide it ({why})"
        if behind and isinstance(change, Change):
            most = max(self._scores.get(name, 0.0) for name in behind)
            score = min(score * _SHIFTED, most or score)
            is_built = change.cause == "mechanics"
            cause = "the transmission of the machine" if is_built else str(change.cause)
            why = f"{why}; behind it is {cause.replace('_', ' ')}"
        self._scores[suspect.name] = score
        if score >= _LEAST:
            yield Suspect(change, score, why)


def _behind(change: Change) -> tuple[str, ...]:
    """What may have shifted a value: roles, and entries of the axis record."""
    if change.kind != "shifted":
        return ()
    if change.cause in _RATINGS:
        return f"motor_{change.cause}", f"motor.{change.cause}"
    return (*TRAVEL_ROLES, *UNIT_ROLES, *TRANSMISSION)
