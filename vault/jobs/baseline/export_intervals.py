"""How often an export of many axes is due: one key of each axis record, by itself.

Every other byte of a record that people wrote stays as it is; one that is written in a way in
which that cannot be done is refused, and edited by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.baseline.many_axes import Progress, no_progress
from vault.model.axis import AxisRecord
from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.store.files import layout
from vault.store.files.edited_files import NEW_AXIS, kept_axis
from vault.store.files.yaml_edits import with_edits
from vault.store.vault import FileEdit

if TYPE_CHECKING:
    from vault.model.quantities import Measure
    from vault.store.vault import Vault

_SCHEMA = "axisvault/axis/1"
_KEY = "export_every"


@dataclass(frozen=True, slots=True)
class IntervalAxis:
    """What becomes of one axis: an `edit`, or why there is none; neither where it is so already.

    `before` is the interval of its record until then, None where the site's holds.
    """

    axis: str
    before: str | None = None
    edit: FileEdit | None = None
    refusal: VaultError | None = None


@dataclass(frozen=True, slots=True)
class ManyIntervals:
    """What became of every axis, or would; `looked_only` where nothing was written."""

    every: str
    axes: tuple[IntervalAxis, ...]
    looked_only: bool = False

    @property
    def refused(self) -> tuple[IntervalAxis, ...]:
        """Those whose record stayed as it is."""
        return tuple(axis for axis in self.axes if axis.refusal is not None)

    @property
    def changed(self) -> tuple[IntervalAxis, ...]:
        """Those that have it by now."""
        return tuple(axis for axis in self.axes if axis.edit is not None)

    @property
    def already(self) -> tuple[IntervalAxis, ...]:
        """Those that had it before."""
        return tuple(axis for axis in self.axes if axis.edit is None and axis.refusal is None)


def set_export_every(
    vault: Vault,
    axes: Sequence[str],
    every: str,
    by: str,
    *,
    looks_only: bool = False,
    progress: Progress = no_progress,
) -> ManyIntervals:
    """Have an export of each axis be due after an interval, as `30 days`.

    Raises WrongUsage for what is no interval.
    """
    text, wanted = check_interval(every)

    def judge() -> tuple[IntervalAxis, ...]:
        judged = []
        for number, axis in enumerate(axes):
            progress(number, len(axes))
            judged.append(_judged(vault, axis, text, wanted, by))
        progress(len(axes), len(axes))
        return tuple(judged)

    if looks_only:
        return ManyIntervals(text, judge(), looks_only)
    with vault.writing():
        found = judge()
        vault.write_each(axis.edit for axis in found if axis.edit is not None)
    return ManyIntervals(text, found)


def check_interval(every: str) -> tuple[str, Measure]:
    """An interval as it is written, and what it is. Raises WrongUsage."""
    text = " ".join(every.split())
    try:
        record = AxisRecord.model_validate({"schema": _SCHEMA, _KEY: text})
    except ValueError as error:
        raise WrongUsage(f"{text!r} is no interval", hint="write it like 30 days") from error
    if record.export_every is None:
        raise WrongUsage("an interval must be given", hint="write it like 30 days")
    return str(record.export_every), record.export_every  # files keep one form


def _judged(vault: Vault, axis: str, text: str, wanted: Measure, by: str) -> IntervalAxis:
    refusals: list[VaultError] = []
    before: str | None = None
    with told_apart(refusals.append, axis):
        address = vault.require_whole_axis(vault.address(axis))
        path = layout.axis_file(address)
        content = vault.read(path)
        known = kept_axis(content, path).export_every if content is not None else None
        before = None if known is None else str(known)
        if known == wanted:
            return IntervalAxis(axis, before)
        changed = with_edits(content or NEW_AXIS, {_KEY: text}, path)
        message = f"{address}: an export is due every {text}\n"
        return IntervalAxis(axis, before, FileEdit({path: changed}, message, by))
    return IntervalAxis(axis, before, refusal=refusals[0])
