"""Proving a restore by motion: the trace of a move, held against the baseline's of that move."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_kept import beside, read_of_axis, trace_records, trace_result
from vault.model.errors import VaultError
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.trials.trace_kept import TraceBeside
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

NO_EARLIER = "There is no earlier trace of the move {move!r}: by motion nothing is proven."
HELD = "By motion, against the trace of {when}: {summary}"


@dataclass(frozen=True, slots=True)
class MotionFile:
    """The recording of a move after a restore, and the name of the move; `taken_at` else now."""

    content: bytes
    file: str
    move: str | None
    taken_at: str | None = None


def motion_file(
    vault: Vault, address: Address, path: Path, move: str | None, taken_at: str | None = None
) -> MotionFile:
    """Read the recording. Raises Unreadable where it is no trace, before anything is taken in."""
    content = read_content(path)
    read_of_axis(vault, vault.require_axis(address), content, str(path))
    return MotionFile(content, str(path), move, taken_at)


def prove_by_motion(vault: Vault, snapshot: Snapshot, motion: MotionFile) -> TraceBeside:
    """Keep the trace beside the as-left snapshot."""
    record = snapshot.as_recorded.record
    return add_trace(
        vault, snapshot.address, motion.content, motion.file, record.by, motion.move,
        motion.taken_at, snapshot,
    )  # fmt: skip


def kept_motion(vault: Vault, snapshot: Snapshot) -> TraceBeside | None:
    """The latest trace of an as-left snapshot with the earlier one; None where there is none."""
    own = [one for one in trace_records(vault, snapshot.address) if one.snapshot == snapshot.id]
    if not own:
        return None
    try:
        return beside(vault, trace_result(vault, snapshot.address, own[-1]))
    except VaultError:
        return None


def motion_sentence(motion: TraceBeside) -> str:
    """What the trace proves of a restore."""
    if motion.earlier is None or motion.comparison is None:
        return NO_EARLIER.format(move=motion.result.record.move)
    when = minute_text(motion.earlier.record.taken_at)
    return HELD.format(when=when, summary=motion.comparison.summary)
