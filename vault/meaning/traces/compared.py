"""Two traces of the same move: whether the axis moves as it did, or what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.trace.measured import QUANTITIES
from vault.meaning.findings import digits
from vault.meaning.traces.words import TITLES, shown
from vault.model.wording import capitalised

if TYPE_CHECKING:
    from vault.behaviour.trace.against import Told
    from vault.behaviour.trace.measured import Measured

AS_IT_DID = "The axis moves as it did: of what both traces tell, nothing differs by more than "
AS_IT_DID += "{share} %."
NOTHING = "The two traces tell nothing that could be compared."
BECAME = "The axis does not move as it did: {changes}."
CHANGE = "{title} from {before} to {after} ({share})"
NO_PARAMETER = (
    "No parameter differs between the two: look at the mechanics (belt, screw, guides, coupling), "
    "at what the axis carries, and at the motor."
)
PARAMETERS = "Between the two the set changed too: compare the snapshots before the mechanics."
OTHER_SPEED = "The two were not recorded at the same speed: what depends on it is not compared."
_SAME_SPEED = 0.03
_AT_SPEED = ("steady_lag", "peak_lag", "stop_distance", "rms_torque", "peak_torque")
"""What depends on the speed of the move."""
_MOST = 4
_FROM_NOTHING = 10.0


@dataclass(frozen=True, slots=True)
class TraceChange:
    """What became of a quantity; `ratio` is after over before, None where it was nothing."""

    name: str
    before: Measured
    after: Measured
    ratio: float | None
    is_material: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class TraceComparison:
    """Two traces of a move. `as_it_did` is None where nothing could be compared."""

    changes: tuple[TraceChange, ...]
    as_it_did: bool | None
    summary: str

    @property
    def material(self) -> tuple[TraceChange, ...]:
        """What changed, largest first."""
        return _material(self.changes)


def _material(changes: Iterable[TraceChange]) -> tuple[TraceChange, ...]:
    """What changed, largest first; what came from nothing counts as grown tenfold."""
    found = [change for change in changes if change.is_material]
    ratios = {one.name: _FROM_NOTHING if one.ratio is None else one.ratio for one in found}
    return tuple(sorted(found, key=lambda one: -abs(ratios[one.name] - 1)))


def compare_traces(
    before: Mapping[str, Told], after: Mapping[str, Told], share: float, *, same_set: bool
) -> TraceComparison:
    """Hold a later trace against an earlier one of the same move.

    What differs by more than `share` (of 1), and by more than both are unsure, is a change.
    """
    same_speed = _same_speed(before, after)
    found = []
    for name in QUANTITIES:
        one, other = before[name].measured, after[name].measured
        if one is None or other is None or (not same_speed and name in _AT_SPEED):
            continue
        found.append(_change(name, one, other, share))
    changes = tuple(found)
    if not changes:
        return TraceComparison((), None, NOTHING if same_speed else f"{NOTHING} {OTHER_SPEED}")
    moved = _material(changes)
    if not moved:
        said = AS_IT_DID.format(share=digits(100 * share, 3))
    else:
        texts = [change.sentence for change in moved[:_MOST]]
        said = BECAME.format(changes="; ".join(texts))
        said += f" {NO_PARAMETER if same_set else PARAMETERS}"
    if not same_speed:
        said += f" {OTHER_SPEED}"
    return TraceComparison(changes, not moved, said)


def _same_speed(before: Mapping[str, Told], after: Mapping[str, Told]) -> bool:
    for name in ("steady_lag", "peak_lag", "inertia"):
        one, other = before[name].measured, after[name].measured
        if one is not None and other is not None and one.speed and other.speed:
            return abs(other.speed / one.speed - 1) < _SAME_SPEED
    return True


def _change(name: str, one: Measured, other: Measured, share: float) -> TraceChange:
    off = abs(other.value - one.value)
    doubt = (one.uncertainty**2 + other.uncertainty**2) ** 0.5
    size = max(abs(one.value), abs(other.value))
    is_material = off > share * size and off > doubt
    ratio = other.value / one.value if one.value else None
    said = CHANGE.format(
        title=TITLES[name],
        before=shown(one),
        after=shown(other),
        share=_share(ratio),
    )
    return TraceChange(name, one, other, ratio, is_material, said)


def _share(ratio: float | None) -> str:
    if ratio is None:
        return "it was nothing"
    change = 100 * (ratio - 1)
    return f"{'+' if change >= 0 else '−'}{digits(abs(change), 3)} %"


def change_sentence(change: TraceChange) -> str:
    """A change as a sentence of its own."""
    return f"{capitalised(change.sentence)}."
