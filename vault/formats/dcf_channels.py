"""Several axes in one object dictionary: CiA 402 places axis n at 6000h + n x 800h."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from vault.model.errors import AxisToChoose, WrongUsage
from vault.model.export import Entry

AXIS_BASE, AXIS_STEP, AXES = 0x6000, 0x800, 8


def axis_of(code: str) -> int | None:
    """Axis an object belongs to; None for what all axes share."""
    index = int(code[2:6], 16)
    if not AXIS_BASE <= index < AXIS_BASE + AXES * AXIS_STEP:
        return None
    return (index - AXIS_BASE) // AXIS_STEP


def choose_channel(
    entries: list[Entry], wanted: int | None, file: str
) -> tuple[int | None, tuple[int, ...]]:
    """The channel to read, and all that there are. Raises WrongUsage where none can be told."""
    present = sorted({axis for e in entries if (axis := axis_of(e.code)) is not None})
    if len(present) <= 1 and wanted is None:
        only = present[0] if present and present[0] else None
        return only, tuple(present) if only else ()
    listed = ", ".join(map(str, present)) or "none"
    if wanted is None:
        raise AxisToChoose(tuple(present), file=file)
    if wanted not in present:
        raise WrongUsage(f"the export has no channel {wanted}: it holds {listed}", file=file)
    return wanted, tuple(present)


def entries_of_channel(entries: list[Entry], channel: int | None) -> list[Entry]:
    """What all axes share and what is the channel's, at the addresses of the first axis."""
    if channel is None:
        return entries
    return list(_moved(entries, channel))


def _moved(entries: list[Entry], channel: int) -> Iterator[Entry]:
    for entry in entries:
        axis = axis_of(entry.code)
        if axis == channel and channel:
            index = int(entry.code[2:6], 16) - channel * AXIS_STEP
            yield replace(entry, code=f"0x{index:04X}{entry.code[6:]}")
        elif axis in (None, channel):
            yield entry
