"""The logbook of an axis, newest first, a page at a time.

When everything happened is asked of the index and of the small files at the tip; what is told of
it is read for the entries of the page alone.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from vault.jobs.alerts.told import told_messages
from vault.jobs.faults.log import fault_code
from vault.jobs.inspect.told_changes import told_changes
from vault.jobs.logbook.acts import act_entry, ended_entry, ended_waivers, kind_of
from vault.jobs.logbook.entries import KINDS, Logbook, LogEntry, LogKind, LogLink
from vault.jobs.logbook.tried import trace_entry, trial_entry
from vault.jobs.restore.target import planned
from vault.jobs.trials.kept import trials_of
from vault.jobs.trials.trace_kept import trace_records
from vault.meaning.reader import system
from vault.model.corrections import STANDING_KINDS
from vault.model.errors import Damaged, VaultError, WrongUsage
from vault.model.names import Address
from vault.model.remembered import Remembered
from vault.model.written_form import form, minute_text
from vault.store.clock import microseconds, moment_of_second
from vault.store.files import layout
from vault.store.files.fault_log_text import read_fault_log
from vault.store.index.acts import Act, PlaceInTime, acts_on, places_in_time
from vault.store.index.rows import snapshots

if TYPE_CHECKING:
    from vault.model.corrections import Correction
    from vault.model.fault_log import FaultEntry
    from vault.store.index.rows import Snapshot
    from vault.store.local.outbox import Message
    from vault.store.vault import Vault

PAGE = 50
_TOLD = Remembered[tuple[object, ...], LogEntry](4096)
_RECORDED = Remembered[str, int](1 << 15)
_MOST_CHANGES = 12
_AXIS = re.compile(r"[A-Za-z0-9][\w.-]*/(?:[\w.-]*\w)")


@dataclass(frozen=True, slots=True)
class _Place:
    """That something happened: `at` in microseconds since 1970; `tell` makes the entry of it."""

    at: int
    kinds: tuple[LogKind, ...]
    tell: Callable[[], LogEntry]


def logbook(
    vault: Vault,
    address: Address,
    kinds: Collection[str] = (),
    skip: int = 0,
    most: int = PAGE,
) -> Logbook:
    """A page of everything that happened to an axis, of some `kinds` or of all.

    Raises WrongUsage for an axis that is not there, and for a kind that none is of.
    """
    address = vault.require_axis(address)
    for kind in kinds:
        if kind not in KINDS:
            raise WrongUsage(f"no entry is of kind {kind!r}", hint=", ".join(KINDS))
    problems: list[str] = []
    places = list(_places(vault, address, problems))
    places.sort(key=lambda place: place.at, reverse=True)
    counted = Counter(kind for place in places for kind in place.kinds)
    wanted = [place for place in places if not kinds or set(kinds) & set(place.kinds)]
    entries = [place.tell() for place in wanted[skip : skip + most]]
    named = {text for entry in entries for said in entry.texts for text in _AXIS.findall(said)}
    axes = {str(axis) for axis in vault.axes()} & named if named else set[str]()
    return Logbook(
        address,
        tuple(_with_axes(entry, axes) for entry in entries),
        {kind: counted[kind] for kind in KINDS if counted[kind]},
        len(wanted),
        min(skip, len(wanted)),
        tuple(problems),
    )


def _places(vault: Vault, address: Address, problems: list[str]) -> Iterator[_Place]:
    notes: tuple[Correction, ...] = ()
    faults: tuple[FaultEntry, ...] = ()
    messages: list[Message] = []
    try:
        notes = vault.corrections(address)
        if not address.is_controller:
            faults = _faults(vault.read(layout.fault_file(address)), layout.fault_file(address))
        messages = list(told_messages(vault.state))
    except VaultError as error:
        problems.append(str(error))
    for fault in faults:
        yield _Place(
            microseconds(fault.at), ("fault",), partial(_fault_entry, vault, address, fault)
        )
    if not address.is_controller:
        for trial in trials_of(vault, address, problems):
            yield _Place(
                microseconds(trial.taken_at),
                ("trial",),
                partial(trial_entry, vault, address, trial),
            )
        for trace in trace_records(vault, address, problems):
            yield _Place(
                microseconds(trace.taken_at),
                ("trace",),
                partial(trace_entry, vault, address, trace),
            )
    sides = (address,) if address.is_controller else (address, address.controller)
    about_controller: set[str] = set()
    for side in sides:
        places = list(_places_of_side(vault, side, notes, messages))
        if side.is_controller:
            every = vault.index.ask(partial(places_in_time, address=side))
            about_controller = {one.id for one in every}
        yield from (_on_side(place, side) for place in places)
    for note in notes:
        is_controllers = note.snapshot in about_controller
        if address.is_controller and not is_controllers:
            continue
        kind: LogKind = "record" if note.kind in STANDING_KINDS else "note"
        place = _Place(microseconds(note.at), (kind,), partial(_note_entry, note, kind))
        yield _on_side(place, address.controller if is_controllers else address)


def _on_side(place: _Place, side: Address) -> _Place:
    """The place of an entry that is about one side of an axis."""
    if not side.is_controller:
        return place
    return replace(place, tell=lambda: replace(place.tell(), side=side.side))


def _places_of_side(
    vault: Vault, address: Address, notes: Sequence[Correction], messages: Iterable[Message]
) -> Iterator[_Place]:
    """What happened to one set of an axis: snapshots, acts on its files, what was told of it."""
    yield from _snapshot_places(vault, address, notes)
    acts = vault.index.ask(lambda database: acts_on(database, address))
    last: dict[str, Act] = {}
    for act in acts:
        before = last.get(act.file)
        yield _Place(act.second * 10**6, (kind_of(act),), partial(act_entry, vault, act, before))
        last[act.file] = act
    for ended in ended_waivers(vault, address, acts):
        yield _Place(microseconds(ended.at), ("waiver",), partial(ended_entry, ended))
    names = vault.names.names(address)
    by_alert: dict[str, list[Message]] = {}
    for message in (message for message in messages if message.alert.axis in names):
        by_alert.setdefault(message.alert.id, []).append(message)
    for found in by_alert.values():
        at = microseconds(found[0].alert.time)
        yield _Place(at, ("alert",), partial(_alert_entry, found))


def _snapshot_places(
    vault: Vault, address: Address, notes: Sequence[Correction]
) -> Iterator[_Place]:
    every = vault.index.ask(lambda database: places_in_time(database, address))
    about: dict[str, list[Correction]] = {}
    for note in notes:
        if note.snapshot is not None:
            about.setdefault(note.snapshot, []).append(note)
    for number, one in enumerate(every):
        before = every[number - 1].id if number else None
        after = every[number + 1 : number + 2]
        kinds: tuple[LogKind, ...] = ("snapshot", "restore") if one.restores else ("snapshot",)
        tell = partial(
            _snapshot_entry, vault, address, one, before, after, tuple(about.get(one.id, ()))
        )
        yield _Place(one.taken, kinds, tell)


def _snapshot_entry(
    vault: Vault,
    address: Address,
    place: PlaceInTime,
    before_id: str | None,
    after: Sequence[PlaceInTime],
    addenda: tuple[Correction, ...],
) -> LogEntry:
    """The entry of a snapshot, remembered for as long as what it rests on is the same."""
    key = (address, place, before_id, tuple(after), vault.axis_text(address), system(), form())
    entry = _TOLD.of(key, lambda: _told_snapshot(vault, address, place, before_id, after))
    return replace(entry, addenda=addenda) if addenda else entry


def _told_snapshot(
    vault: Vault,
    address: Address,
    place: PlaceInTime,
    before_id: str | None,
    after: Sequence[PlaceInTime],
) -> LogEntry:
    ids = [one for one in (place.id, before_id) if one is not None]
    where = f"WHERE machine = ? AND axis = ? AND id IN ({', '.join('?' * len(ids))})"
    names = (*address.key, *ids)
    found = {s.id: s for s in vault.index.ask(lambda db: list(snapshots(db, where, *names)))}
    snapshot = found[place.id]
    record = snapshot.record
    links = [LogLink(snapshot.id[:10], "snapshot", snapshot.id)]
    said = []
    if record.work_order:
        said.append(f"Work order {record.work_order}.")
        links.append(LogLink(record.work_order, "order", record.work_order))
    if record.note:
        said.append(record.note)
    if record.restores:
        number = _plan_number(vault, address, snapshot)
        said.append(f"Checked restore plan {number}: the verdict.")
        links += (
            LogLink(f"restore plan {number}", "plan", number),
            LogLink("the verdict", "check", snapshot.id),
        )  # fmt: skip
    if record.moved:
        commanded, _, measured = record.moved.partition("=")
        said.append(f"Measured move: {commanded.strip()} commanded, {measured.strip()} measured.")
    if record.override_reason:
        said.append(f"Taken in although a guard objected: {record.override_reason}")
    if snapshot.redated:
        said.append("Its time was put right afterwards.")
    elif late := _late_text(vault, place, after):
        said.append(late)
    told = told_changes(vault, found.get(before_id or ""), snapshot, _MOST_CHANGES)
    links += (LogLink(text, "parameter", code) for text, code in told.named)
    return LogEntry(
        "snapshot", record.taken_at, record.by, record.occasion, tuple(said), told.sentences,
        tuple(record.told_coverage.told()), tuple(links), snapshot.id, snapshot.id,
    )  # fmt: skip


def _plan_number(vault: Vault, address: Address, snapshot: Snapshot) -> str:
    """Number of the plan that a snapshot was held against; its id where that cannot be told."""
    held = snapshot.record.restores or ""
    with suppress(VaultError):  # verify tells it
        plan = planned(vault, address, snapshot.id)
        if plan is not None and plan.id == held:
            return plan.number
    return held


def _late_text(vault: Vault, place: PlaceInTime, after: Iterable[PlaceInTime]) -> str | None:
    """That a snapshot was recorded when the one after it in time stood already, if so.

    One that came from another copy was recorded there, in its turn.
    """
    recorded = _recorded(vault, place.id)
    for one in after:
        if recorded > _recorded(vault, one.id):
            late = minute_text(moment_of_second(recorded))
            return f"Late entry: recorded {late}, when a later state stood already."
    return None


def _recorded(vault: Vault, commit: str) -> int:
    """The second at which a commit was made; 0 where it cannot be read, which verify tells."""
    try:
        return _RECORDED.of(commit, lambda: vault.repository.commit_header(commit).committed)
    except Damaged:
        return 0


@lru_cache(maxsize=2048)
def _faults(content: bytes | None, path: str) -> tuple[FaultEntry, ...]:
    return () if content is None else read_fault_log(content, path)


def _fault_entry(vault: Vault, address: Address, fault: FaultEntry) -> LogEntry:
    code = fault_code(vault, address, fault.code)
    name = f": {code.name}" if code is not None else ""
    said = [fault.note] if fault.note else []
    if fault.source:
        said.append(f"Read from {fault.source}.")
    return LogEntry(
        "fault", fault.at, fault.by, f"fault {fault.code}{name}", tuple(said),
        links=(LogLink(fault.code, "fault", fault.code),),
    )  # fmt: skip


def _note_entry(note: Correction, kind: LogKind) -> LogEntry:
    links: tuple[LogLink, ...] = ()
    if note.snapshot is not None:
        links = (LogLink(note.snapshot[:10], "snapshot", note.snapshot),)
    return LogEntry(
        kind, note.at, note.by, note.title, (note.text,), links=links,
        snapshot=note.snapshot or "",
    )  # fmt: skip


def _alert_entry(messages: Sequence[Message]) -> LogEntry:
    """An alert, and by which channels it went out; addresses and secrets of channels stay away."""
    alert = messages[0].alert
    sent = [
        f"{message.channel}: sent {minute_text(message.sent)}."
        if message.sent is not None
        else f"{message.channel}: waits{', tried in vain' * bool(message.attempts)}."
        for message in messages
    ]
    links = [LogLink(i[:10], "snapshot", i) for i in (alert.snapshot, alert.golden) if i]
    subject = alert.subject.removeprefix(f"{alert.axis}: ")
    return LogEntry(
        "alert", alert.time, "", f"alert: {subject}", tuple(sent), alert.sentences,
        links=tuple(links), snapshot=alert.snapshot or "",
    )  # fmt: skip


def _with_axes(entry: LogEntry, axes: Collection[str]) -> LogEntry:
    """The entry with links to the axes that its sentences name."""
    named = {
        text: LogLink(text, "axis", text)
        for sentence in entry.texts
        for text in _AXIS.findall(sentence)
        if text in axes
    }
    return replace(entry, links=(*entry.links, *named.values())) if named else entry
