"""Proving a restore by motion: the trace of a move, held against the baseline's of that move."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import by_id
from vault.jobs.trials.trace import add_trace, free_moment, move_name
from vault.jobs.trials.trace_kept import (
    beside,
    read_by_family,
    trace_names,
    trace_records,
    trace_result,
)
from vault.model.errors import VaultError
from vault.store.clock import time_text
from vault.store.files import layout
from vault.store.git.history import commits_changing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.trials.trace_kept import TraceBeside
    from vault.model.names import Address
    from vault.store.files.trace_record_text import TraceRecord
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

NO_EARLIER = "There is no earlier trace of the move {move!r}: by motion nothing is proven."
HELD = "By motion, move {move!r} against {which}: {summary}"
UNREAD = "A trace of this axis cannot be read, and proves nothing: {reason}."
DOUBT = "What the move {move!r} is held against is in doubt: {problem}."


@dataclass(frozen=True, slots=True)
class MotionFile:
    """The recording of a move after a restore, the name of the move, and when it was recorded."""

    content: bytes
    file: str
    move: str
    taken_at: str


def motion_file(
    vault: Vault, address: Address, path: Path, move: str | None, taken_at: str | None = None
) -> MotionFile:
    """The recording, which can be kept so: what it is refused for is told before anything is kept.

    `taken_at` is that of the export: where its file says when, the move was recorded now.
    Raises Unreadable, WrongUsage for the name of the move, Refused for the future and for a time
    that has a trace.
    """
    address = vault.require_whole_axis(address)
    said = None if taken_at == "file" else taken_at
    moment = free_moment(vault, address, said, str(path))
    return MotionFile(read_content(path), str(path), move_name(move), time_text(moment))


def check_readable(vault: Vault, address: Address, family: str | None, motion: MotionFile) -> None:
    """Raise Unreadable where it is no trace, by the dictionary of the family that is taken in."""
    latest = vault.latest(address)
    if family is None and latest is not None:
        family = latest.record.family
    read_by_family(vault, family, motion.content, motion.file)


def prove_by_motion(vault: Vault, snapshot: Snapshot, motion: MotionFile) -> None:
    """Keep the trace beside the as-left snapshot."""
    record = snapshot.as_recorded.record
    add_trace(
        vault, snapshot.address, motion.content, motion.file, record.by, motion.move,
        motion.taken_at, snapshot,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Motion:
    """What an axis does after a restore: the latest trace of each move, held against the earlier.

    `problems` are sentences on traces that cannot be read, and so prove nothing.
    """

    traces: tuple[TraceBeside, ...] = ()
    problems: tuple[str, ...] = ()

    @property
    def as_it_did(self) -> bool:
        """Whether no move says otherwise."""
        return not any(map(_differs, self.traces))

    @property
    def decisive(self) -> TraceBeside | None:
        """The latest trace of a move that is not as it was, else the latest of all."""
        deciding = [one for one in self.traces if _differs(one)] or self.traces
        return deciding[-1] if deciding else None

    @property
    def sentences(self) -> tuple[str, ...]:
        """What each move proves of a restore."""
        return tuple(filter(None, map(_sentence, self.traces)))


def kept_motion(vault: Vault, snapshot: Snapshot) -> Motion:
    """What the traces of an as-left snapshot say of it, as far as they went into its signature."""
    address = snapshot.address
    problems: list[str] = []
    records = list(trace_records(vault, address, problems))
    own = [one for one in records if one.snapshot == snapshot.id]
    signed = _signed_in(vault, snapshot) if own else None
    if signed is not None:  # what wears later was right when somebody answered for it
        then = trace_names(vault, address, signed)
        own = [one for one in own if one.name in then]
    left = _left_by_restore(vault, snapshot, records) if own else ()
    traces = []
    for record in {one.move.casefold(): one for one in own}.values():
        try:
            traces.append(beside(vault, trace_result(vault, address, record), left))
        except VaultError as error:
            problems.append(str(error))
    traces.sort(key=lambda one: one.result.record.taken_at)
    said = [UNREAD.format(reason=problem) for problem in problems]
    said += (
        DOUBT.format(move=one.result.record.move, problem=one.problem)
        for one in traces
        if one.problem is not None
    )
    return Motion(tuple(traces), tuple(said))


def _left_by_restore(vault: Vault, snapshot: Snapshot, records: Iterable[TraceRecord]) -> set[str]:
    """Ids of snapshots whose traces do not prove this one: of itself, and of the same restore.

    Else an axis that does not move as it did would pass once its move is recorded again. One that
    somebody approved since is a baseline as any other.
    """
    plan, approval = snapshot.record.restores, vault.golden(snapshot.address).approval
    of_plan = {
        one
        for one in {record.snapshot for record in records}
        if plan is not None and _restores(vault, snapshot.address, one) == plan
    }
    return of_plan - {approval.snapshot if approval is not None else None} | {snapshot.id}


def _restores(vault: Vault, address: Address, snapshot: str) -> str | None:
    with suppress(VaultError):  # the trace that names it is told apart
        return by_id(vault, address, snapshot).record.restores
    return None


def _signed_in(vault: Vault, snapshot: Snapshot) -> str | None:
    """The commit in which somebody answered for an as-left snapshot first; None for nobody.

    It tells what they saw by the files that it has: times are told by clocks, which may go back.
    """
    path = layout.restore_file(snapshot.address)
    for logged in commits_changing(vault.repository, vault.tip, path):
        with suppress(VaultError):  # verify tells of it
            plan = planned(vault, snapshot.address, logged.commit)
            signed = plan.signed_off if plan is not None else None
            if signed is not None and signed.snapshot == snapshot.id:
                return logged.commit
    return None


def _differs(motion: TraceBeside) -> bool:
    return motion.comparison is not None and motion.comparison.as_it_did is False


def _sentence(motion: TraceBeside) -> str | None:
    """None where the earlier trace is in doubt: that is told as a problem."""
    move = motion.result.record.move
    if motion.comparison is not None:
        return HELD.format(move=move, which=motion.against, summary=motion.comparison.summary)
    return NO_EARLIER.format(move=move) if motion.problem is None else None
