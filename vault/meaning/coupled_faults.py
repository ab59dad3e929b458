"""Which changes on another axis of a machine can bring a fault about: by the supply, by the bus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.changes import Surrounding
from vault.model import roles

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.meaning.faults import FaultCode

SHARE = 0.5
"""What a change on another axis counts against one on the axis itself (our own judgement)."""

# Groups of standard codes (CiA 402-2, from memory): what couples, and by which parameter groups.
_COUPLED = (
    (0x3100, 0x3FFF, "the supply that both may share", ("supply", "motion", "stop", "torque")),
    (0x7110, 0x711F, "the supply that both may share", ("supply", "motion", "stop", "torque")),
    (0x7500, 0x75FF, "the bus that both are on", ("link",)),
    (0x8100, 0x82FF, "the bus that both are on", ("link",)),
    (0x8700, 0x87FF, "the bus that both are on", ("link",)),
)


def coupling(change: Change | Surrounding, fault: FaultCode) -> str | None:
    """What a change on another axis acts through on a fault; None where nothing is known to."""
    if fault.standard is None:
        return None
    group = _group(change)
    for low, high, through, groups in _COUPLED:
        if low <= fault.standard <= high and group in groups:
            return through
    return None


def _group(change: Change | Surrounding) -> str | None:
    """Group of a parameter, or what an entry of the axis record has to do with like these."""
    if isinstance(change, Surrounding):
        section = change.path.partition(".")[0]
        return _SECTIONS.get(section)
    role = roles.find(change.shown.role) if change.shown.role is not None else None
    return None if role is None else role.group


_SECTIONS = {
    "supply": "supply", "mechanics": "motion", "motor": "motion", "duty": "motion",
    "controller_link": "link",
}  # fmt: skip
"""Sections of the axis record, and parameter groups that act as they do."""
