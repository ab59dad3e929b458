"""JSON of syncs: what was taken, given, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.sync.incoming import IncomingChange
    from vault.jobs.sync.log import SyncEvent
    from vault.jobs.sync.sync import Given, Looked, Taken


class DecidedFileDocument(TypedDict):
    """A file that people changed on both sides."""

    file: str
    """Its path in the vault."""

    side: str
    """The side whose text holds: `here` or `there`."""


class TakenDocument(TypedDict):
    """What was taken from another copy of the vault: `sync take`."""

    partner: str
    """The other copy."""

    tip: str
    """Commit that the other copy stood at."""

    merge: str | None
    """Commit that joined both histories, null where none had to."""

    snapshots: int
    """How many snapshots came in."""

    axes: list[str]
    """Axes that they are of."""

    files: list[str]
    """Records that came in: paths in the vault."""

    kept: list[DecidedFileDocument]
    """Files that were changed on both sides, and which side holds."""

    unchanged: bool
    """Whether the other copy had nothing that is not here."""

    warnings: list[str]
    """What a reader should know."""


class IncomingChangeDocument(TypedDict):
    """What a take would change of a file that people write."""

    path: str
    """Its path in the vault."""

    kind: str
    """What of it: `policy`, `channels`, `signers`, `open reading`, `golden baseline`,
    `waiver for CODE`, `dictionary`, `axis`, `deletion` and others."""

    author: str | None
    """Who changed it last there: `Name <mail>`."""

    signer: str | None
    """For whom the key is allowed here that signed the change; null where none is."""

    needs: str | None
    """What somebody here has to accept for it, `policy` or `golden`; null where nothing."""

    why: str | None
    """Why it needs that."""


class LookedDocument(TypedDict):
    """What a take would bring: `sync look`."""

    partner: str
    """The other copy."""

    tip: str
    """Commit that the other copy stands at."""

    snapshots: int
    """How many snapshots would come in."""

    axes: list[str]
    """Axes that they are of."""

    changes: list[IncomingChangeDocument]
    """What would change of the files that people write. The `error` of a take that needs consent
    has the same key."""


class GivenDocument(TypedDict):
    """What was given to another copy: `sync give`."""

    partner: str
    """The other copy."""

    tip: str
    """Commit that it stands at now."""

    unchanged: bool
    """Whether it had everything already."""


class SyncEventDocument(TypedDict):
    """One sync of this copy."""

    at: str
    """When."""

    by: str
    """Who did it."""

    what: str
    """`took` or `gave`."""

    partner: str
    """The other copy."""

    tip: str
    """Commit that was taken or given."""

    merge: str | None
    """Commit that joined both histories, null where none had to."""

    snapshots: int
    """How many snapshots came in."""

    axes: int
    """How many axes they are of."""


class SyncEventsDocument(TypedDict):
    """What this copy took from others and gave to them: `sync list`."""

    events: list[SyncEventDocument]
    """Oldest first."""


def taken_document(taken: Taken) -> TakenDocument:
    """What was taken from another copy."""
    return {
        "partner": taken.partner,
        "tip": taken.tip,
        "merge": taken.merge,
        "snapshots": taken.snapshots,
        "axes": [str(axis) for axis in taken.axes],
        "files": list(taken.files),
        "kept": [{"file": path, "side": side} for path, side in taken.kept],
        "unchanged": taken.is_nothing,
        "warnings": list(taken.warnings),
    }


def looked_document(looked: Looked) -> LookedDocument:
    """What a take would bring."""
    return {
        "partner": looked.partner,
        "tip": looked.tip,
        "snapshots": looked.snapshots,
        "axes": sorted(map(str, looked.new)),
        "changes": incoming_documents(looked.changes),
    }


def incoming_documents(changes: Iterable[IncomingChange]) -> list[IncomingChangeDocument]:
    """What a take would change of files that people write."""
    return [
        {
            "path": change.path,
            "kind": change.kind,
            "author": change.author,
            "signer": change.signer,
            "needs": change.needs,
            "why": change.why,
        }
        for change in changes
    ]


def given_document(given: Given) -> GivenDocument:
    """What was given to another copy."""
    return {"partner": given.partner, "tip": given.tip, "unchanged": given.unchanged}


def sync_events_document(events: Iterable[SyncEvent]) -> SyncEventsDocument:
    """What this copy took and gave."""
    return {"events": sync_event_documents(events)}


def sync_event_documents(events: Iterable[SyncEvent]) -> list[SyncEventDocument]:
    """Syncs of this copy, one by one."""
    return [
        {
            "at": time_text(event.at),
            "by": event.by,
            "what": event.what,
            "partner": event.partner,
            "tip": event.tip,
            "merge": event.merge,
            "snapshots": event.snapshots,
            "axes": event.axes,
        }
        for event in events
    ]
