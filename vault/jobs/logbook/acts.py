"""Entries of what people did by changing a file of the axis: approvals, waivers, plans, record."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.jobs.audit.actions import why_done, without_axis
from vault.jobs.logbook.entries import LogEntry, LogKind, LogLink
from vault.jobs.records.axis_edits import axis_edit
from vault.jobs.restore.target import planned
from vault.meaning.reader import system
from vault.model.errors import Unreadable, VaultError
from vault.model.golden import Golden
from vault.model.remembered import Remembered
from vault.model.written_form import form
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.golden_text import read_golden
from vault.store.git.objects import LoggedCommit
from vault.store.index.acts import AXIS, GOLDEN, Act

if TYPE_CHECKING:
    from vault.model.golden import Waiver
    from vault.model.names import Address
    from vault.store.vault import Vault

_WAIVED = re.compile(r": (?P<code>\S.*) waived$")
_WITHDRAWN = re.compile(r": waiver for (?P<code>\S.*) withdrawn$")
_TOLD = Remembered[tuple[object, ...], LogEntry](4096)


@dataclass(frozen=True, slots=True)
class EndedWaiver:
    """A waiver that held until its last day was over, and was not taken back before."""

    waiver: Waiver
    at: datetime


def kind_of(act: Act) -> LogKind:
    """Of which kind an act is: a waiver is one in the file of the baseline, by its subject."""
    if act.file == AXIS:
        return "record"
    if act.file != GOLDEN:
        return "restore"
    return "waiver" if _WAIVED.search(act.subject) or _WITHDRAWN.search(act.subject) else "approval"


def act_entry(vault: Vault, act: Act, before: Act | None) -> LogEntry:
    """What an act was; `before` is that which changed the same file last."""
    key = (act.address, str(act.address), act.file, act.commit, system(), form())
    return _TOLD.of(
        key,
        lambda: _record_entry(vault, act) if act.file == AXIS else _file_entry(vault, act, before),
    )


def _record_entry(vault: Vault, act: Act) -> LogEntry:
    """An edit of the axis record, and what follows from it."""
    logged = LoggedCommit(act.commit, act.at, act.by, act.subject)
    title, changes, classes = "axis as built changed", tuple[str, ...](), tuple[str, ...]()
    try:
        edit, _ = axis_edit(vault, act.address, logged)
    except Unreadable as error:
        changes = (f"The record cannot be read as it was then: {error.message}.",)
    else:
        if edit.is_first:
            title = "axis as built recorded"
        else:
            changes = tuple(change.explanation for change in edit.changes)
            classes = tuple(change.consequence for change in edit.changes)
    return LogEntry(
        "record", act.at, act.by, title, changes=changes, consequences=classes, commit=act.commit,
        links=(LogLink("axis as built", "record", str(act.address)),),
    )  # fmt: skip


def _file_entry(vault: Vault, act: Act, before: Act | None) -> LogEntry:
    """An act on baseline or plan, with its reasons as far as they were not given before."""
    path = f"{layout.folder(act.address)}/{act.file}"
    last = before.commit if before is not None else None
    sentences = list(why_done(vault, act.address, path, act.commit, last))
    links: list[LogLink] = []
    snapshot = ""
    kind = kind_of(act)
    if act.file == GOLDEN:
        golden = _golden_at(vault, path, act.commit)
        found = _WAIVED.search(act.subject) or _WITHDRAWN.search(act.subject)
        if found is not None:
            links.append(LogLink(found["code"], "parameter", found["code"]))
            sentences += (_waiver_text(w) for w in golden.waivers if _is_made(w, act, found))
        elif golden.approval is not None:
            snapshot = golden.approval.snapshot
            sentences.insert(0, f"Snapshot {snapshot[:10]}.")
        links.append(LogLink("golden baseline", "baseline", str(act.address)))
    else:
        with suppress(VaultError):  # verify tells it
            plan = planned(vault, act.address, act.commit)
            if plan is not None:
                links.append(LogLink(plan.number, "plan", plan.number))
                if not any(plan.number in sentence for sentence in sentences):
                    sentences.insert(0, f"Plan {plan.number}.")
                if plan.signed_off is not None:
                    snapshot = plan.signed_off.snapshot
                    sentences.append(f"By the as-left snapshot {snapshot[:10]}.")
    if snapshot:
        links.append(LogLink(snapshot[:10], "snapshot", snapshot))
    title = without_axis(act.subject, vault.names.names(act.address))
    return LogEntry(
        kind, act.at, act.by, title, tuple(sentences), links=tuple(links),
        snapshot=snapshot, commit=act.commit,
    )  # fmt: skip


def _is_made(waiver: Waiver, act: Act, found: re.Match[str]) -> bool:
    return found.re is _WAIVED and waiver.code == found["code"]


def _waiver_text(waiver: Waiver) -> str:
    return f"It may be {waiver.allow.told} until {waiver.last_day}: {waiver.reason}"


def _golden_at(vault: Vault, path: str, commit: str) -> Golden:
    return _golden(vault.read(path, commit), path)


@lru_cache(maxsize=2048)
def _golden(content: bytes | None, path: str) -> Golden:
    """What it says, nothing where it cannot be read: verify tells that."""
    with suppress(VaultError):
        return Golden() if content is None else read_golden(content, path)
    return Golden()


def ended_waivers(vault: Vault, address: Address, acts: Iterable[Act]) -> Iterator[EndedWaiver]:
    """Waivers of an axis that came to their end, also those that an approval dropped later.

    `acts` are those on the axis, oldest first: only files with a waiver are read.
    """
    path, open_ = layout.golden_file(address), dict[str, EndedWaiver]()
    for act in (act for act in acts if act.file == GOLDEN):
        made, withdrawn = _WAIVED.search(act.subject), _WITHDRAWN.search(act.subject)
        if withdrawn is not None:
            yield from _over(open_.pop(withdrawn["code"], None), act.at)
        elif made is not None:
            code = made["code"]
            yield from _over(open_.pop(code, None), act.at)
            for waiver in _golden_at(vault, path, act.commit).waivers:
                if waiver.code == code:
                    open_[code] = EndedWaiver(waiver, parse_time(waiver.until))
        elif act.subject.endswith(": golden baseline withdrawn"):
            for one in open_.values():
                yield from _over(one, act.at)
            open_.clear()
    for one in open_.values():
        yield from _over(one, now())


def _over(one: EndedWaiver | None, moment: datetime) -> Iterator[EndedWaiver]:
    if one is not None and one.at < moment:
        yield one


def ended_entry(one: EndedWaiver) -> LogEntry:
    """That a waiver ended."""
    waiver = one.waiver
    return LogEntry(
        "waiver", one.at, "", f"waiver for {waiver.code} ended",
        (f"It allowed {waiver.allow.told} until {waiver.last_day}: {waiver.reason}",
         "From then on the parameter counts as drift again, where it differs."),
        links=(LogLink(waiver.code, "parameter", waiver.code),),
    )  # fmt: skip
