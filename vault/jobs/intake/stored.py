"""Whether the vault has an export already: the same bytes, of the same axis, of the same time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.time_taken import proposals, time_taken
from vault.jobs.state.moments import names_day
from vault.model.names import safe_file_name
from vault.store.clock import CLOCKS_APART, microseconds
from vault.store.files.snapshot_text import digest
from vault.store.index.recorded_order import recorded_between

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.jobs.intake.visit import Visit
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class _Span:
    """When a snapshot may have been taken, both ends included.

    `source` is whose word that was, and `name` what the file was called, where these count.
    """

    first: datetime
    last: datetime
    source: str | None = None
    name: str | None = None


def find_given(vault: Vault, address: Address, content: bytes, visit: Visit) -> Snapshot | None:
    """The snapshot of an export with this content, taken when the visit says, found unread.

    A bare date names the whole day: of today it was recorded as the moment at which it came in.
    None where the visit does not say when, or names another channel.
    """
    if visit.taken_at is None:
        return None
    return _find(vault, address, content, visit, _given(visit.taken_at))


def find_stored(vault: Vault, address: Address, export: Export, visit: Visit) -> Snapshot | None:
    """The snapshot of this export, of the channel that the visit names if any.

    Found where it would be dated as it was, and where its time was put otherwise when it came in
    first, as of a date that lay ahead. Raises as `time_taken` does.
    """
    taken_at = time_taken(export, visit).moment
    spans = [_Span(taken_at, taken_at), *_dated_before(export, visit, taken_at)]
    if visit.taken_at is not None:
        spans += _given(visit.taken_at)
    return _find(vault, address, export.content, visit, spans)


def find_stored_file(vault: Vault, path: Path, address: Address, visit: Visit) -> Snapshot | None:
    """The snapshot that taking a file in had made, where it was cut short after that.

    Raises as `ingest` does.
    """
    export = read_for_axis(vault, address, read_content(path), str(path), visit)
    return find_stored(vault, address, export, visit)


def _find(
    vault: Vault, address: Address, content: bytes, visit: Visit, spans: Iterable[_Span]
) -> Snapshot | None:
    sha256 = digest(content)
    for span in spans:
        first, last = microseconds(span.first), microseconds(span.last)
        for snapshot in recorded_between(vault.index, address, first, last):
            record = snapshot.as_recorded.record
            if (
                record.export_sha256 == sha256
                and visit.channel in (None, record.channel)
                and span.source in (None, record.taken_at_from)
                and span.name in (None, record.export_name)
            ):
                return snapshot
    return None


def _given(moment: datetime) -> Iterator[_Span]:
    """The moment that a person gave; the whole of the day where a bare date was given."""
    yield _Span(moment, moment)
    if names_day(moment):
        yield _Span(datetime.combine(moment, time.min, moment.tzinfo), moment, "given")


def _dated_before(export: Export, visit: Visit, taken_at: datetime) -> Iterator[_Span]:
    """Times that a file with a date of its own may have been given earlier.

    Which of its proposals is the likeliest depends on how old they are, and a date that lies ahead
    is none: then it came in on that day, before that moment, and was dated now. Only of one day and
    one file's name, as the same settings may well be exported again.
    """
    if visit.taken_at is not None or visit.file_time is None or export.listing.taken_at:
        return
    for proposal in proposals(export, visit):
        yield _Span(proposal.moment, proposal.moment, "file")
    day, name = datetime.combine(taken_at, time.min, taken_at.tzinfo), safe_file_name(export.file)
    if taken_at < visit.file_time:
        yield _Span(day, taken_at, "now", name)
    elif taken_at == visit.file_time:
        yield _Span(day, taken_at - CLOCKS_APART, "now", name)
