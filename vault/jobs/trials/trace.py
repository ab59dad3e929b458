"""Adding a trace: read, evaluated, kept as it came under its axis, held against an earlier one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.state.moments import not_in_future
from vault.jobs.trials.add import snapshot_at
from vault.jobs.trials.trace_kept import TraceBeside, beside, evaluated, read_by_family, trace_names
from vault.model.errors import Refused, WrongUsage
from vault.model.written_form import minute_text
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.moment_names import name_of_moment
from vault.store.files.snapshot_text import digest
from vault.store.files.trace_record_text import (
    TRACES_FORMAT,
    TraceRecord,
    kept_file_name,
    trace_record_text,
)

if TYPE_CHECKING:
    from datetime import datetime

    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

USUAL_MOVE = "move"
"""What a move is called that nobody named."""
_LONGEST = 80


def add_trace_file(
    vault: Vault,
    address: Address,
    path: Path,
    by: str,
    move: str | None = None,
    taken_at: str | None = None,
) -> TraceBeside:
    """Take a trace in from a file; raises what `add_trace` does."""
    return add_trace(vault, address, read_content(path), str(path), by, move, taken_at)


def add_trace(
    vault: Vault,
    address: Address,
    content: bytes,
    file: str,
    by: str,
    move: str | None = None,
    taken_at: str | None = None,
    of: Snapshot | None = None,
) -> TraceBeside:
    """Keep a trace, and say what it tells and what became of the axis since the earlier one.

    It is `of` the snapshot in force then, unless it is said of which. Raises Unreadable with file
    and line, WrongUsage where no set was in force then, Refused for the
    future and for a time that has a trace.
    """
    address = vault.require_whole_axis(address)
    move = move_name(move)
    with vault.writing():
        address = vault.require_whole_axis(address)
        moment = free_moment(vault, address, taken_at, file)
        name = name_of_moment(moment)
        snapshot = of or snapshot_at(vault, address, moment)
        trace = read_by_family(vault, snapshot.record.family, content, file)
        vault.raise_format(by, TRACES_FORMAT)
        record = TraceRecord(
            name, kept_file_name(file), move, moment, by, now(), snapshot.id, vault.tip,
            digest(content),
        )  # fmt: skip
        result = evaluated(vault, address, record, trace)
        found = beside(vault, result)
        said = found.comparison.summary if found.comparison is not None else ""
        folder = layout.trace_folder(address, name)
        vault.write_files(
            {
                layout.trace_file(address, name): trace_record_text(record),
                f"{folder}/{record.file}": content,
            },
            f"{address}: trace of {move!r} of {moment:%Y-%m-%d %H:%M}\n\n{said}\n\n"
            f"Trace: {name}\nSnapshot: {snapshot.id}\n",
            by,
        )
    return found


def free_moment(vault: Vault, address: Address, taken_at: str | None, file: str) -> datetime:
    """When a trace was recorded, now where nobody says; to the second, which names it.

    Raises Refused for the future and for a time that has a trace.
    """
    moment = now() if taken_at in (None, "", "now") else parse_time(str(taken_at), begins=True)
    moment = not_in_future(moment.replace(microsecond=0), file)
    if name_of_moment(moment) in trace_names(vault, address):
        raise Refused(
            f"{address} has a trace of {minute_text(moment)} already",
            hint="another one has another time: --taken-at TIME",
        )
    return moment


def move_name(move: str | None) -> str:
    """The name of a move as it is kept: one line. Raises WrongUsage for a long one."""
    name = " ".join((move or "").split()) or USUAL_MOVE
    if len(name) > _LONGEST:
        raise WrongUsage(f"the name of a move has at most {_LONGEST} characters")
    if not name.isprintable():
        raise WrongUsage("the name of a move is plain text")
    return name
