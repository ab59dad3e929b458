"""What a change of the axis record does to a fault: by margins, else by its size."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from vault.meaning.changes import Surrounding
from vault.meaning.consequences import rank
from vault.meaning.fault_effects import by_margin, by_sizes, untold
from vault.meaning.fault_places import longer_way
from vault.meaning.fault_sizes import FaultEffect
from vault.meaning.judging import SENTENCE
from vault.meaning.record_entries import key_of
from vault.model.quantities import Measure, UnknownUnit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.meaning.fault_weights import Weight
    from vault.meaning.substitution import Substitution

_UNTOLD = 0.25
"""What an entry counts of which neither a margin nor a size tells."""
_NAMED_FREELY = ("cabinet.", "controller_link.")
SUBJECTS = {
    "brake": r"brake",
    "direction": r"direction|invert|polarity|phase_?(order|sequence)|rotation|encoder_?cable",
    "over_travel": r"over_?travel|limit_?switch|end_?switch",
    "scaling": r"scal|factor|gear|unit|per_turn|per_rev",
    "supply": r"supply|voltage|phase|mains|fuse|resist|contactor|dc_?(bus|link)",
    "link": r"address|alias|node|station|watchdog|heartbeat|time_?out|guard|interval|period|cycle"
    r"|terminat|baud|bit_?rate|bus",
}
"""Words by which settings that people name as they like have to do with a fault; first come."""


def entries(rows: Iterable[Surrounding]) -> list[Surrounding]:
    """Differences of the axis record entry by entry: each under its key, with all that it says.

    What was only filled in is left out: nobody changed the machine by that.
    """
    parts: dict[str, list[Surrounding]] = defaultdict(list)
    for row in rows:
        if row.left is not None and not row.path.startswith(("nameplate.", "margins.")):
            parts[key_of(row.path)].append(row)
    return [_joined(key, some) for key, some in parts.items()]


def _joined(key: str, rows: list[Surrounding]) -> Surrounding:
    first, *others = rows
    if not others:
        return replace(first, path=key)
    told = dict.fromkeys(part for row in rows for part in SENTENCE.split(row.explanation))
    worst = min((row.consequence for row in rows), key=rank)
    return Surrounding(key, None, None, worst, " ".join(told))


def weight_name(key: str) -> str:
    """Under which name an entry stands among the weights: its key, or what it is about."""
    if not key.startswith(_NAMED_FREELY):
        return key
    words = re.sub(r"[\s-]+", "_", key.lower())
    found = (name for name, pattern in SUBJECTS.items() if re.search(pattern, words))
    return f"noted.{next(found, 'otherwise')}"


def effect_of_entry(row: Surrounding, weight: Weight, between: Substitution) -> FaultEffect | None:
    """What a change of one entry does to a fault; None for nothing."""
    if row.path == "brake.fitted" and between.right.choice("brake_used") != 0:
        return None  # the drive works it, or needs none
    if weight.way == "on":
        return FaultEffect(1, row.right is True)
    if row.path.startswith(_NAMED_FREELY):
        return FaultEffect(1, True)
    if weight.way == "shift":
        return longer_way(row.path, between)
    found, is_known = by_margin(row.path, weight, between)
    if found is not None or is_known:
        return found
    if row.right is None and row.left is not None:
        return FaultEffect(_UNTOLD, True, "it was struck from the record")
    return _by_size(row, weight, between)


def _by_size(row: Surrounding, weight: Weight, between: Substitution) -> FaultEffect | None:
    before, after = _size(row.left), _size(row.right)
    if weight.way != "other" and before is not None and after is not None:
        return by_sizes((before, after), row.path, weight, between)
    share = 1 if weight.way == "other" else _UNTOLD
    return FaultEffect(share, True, "; ".join(untold(weight, between)))


def _size(value: object) -> float | None:
    """A quantity of the record in SI, or a plain number."""
    if isinstance(value, bool) or value is None:
        return None
    try:
        measure = Measure.parse(str(value))
        size = measure.physical()
    except (ValueError, UnknownUnit):
        return None
    return float(measure.value if size is None else size.number())
