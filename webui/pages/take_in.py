"""Taking exports in: send them, see what they would change, then store them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import current_app, request

from vault.jobs.drafting.unknown import may_be_drafted
from vault.jobs.export.content import read_content
from vault.jobs.export.recognise import recognise
from vault.jobs.intake.documents import IngestDocument, ingest_document
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.preview import Preview, preview, proposed_places
from vault.jobs.intake.read_for_axis import families_of
from vault.jobs.intake.report import Ingested
from vault.jobs.intake.stored import find_stored_file
from vault.jobs.intake.visit import DEFAULT_OCCASION, Visit, parse_visit
from vault.jobs.records.edit import list_families
from vault.jobs.watch.known_folders import watched_folders
from vault.meaning.floors import counted
from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import internal_error, told_apart
from vault.model.names import SIDES, Address, checked_side
from vault.model.snapshots import OCCASIONS
from vault.model.wording import plural
from vault.store.clock import now, parse_time, time_text
from vault.store.vault import Vault
from webui import metrics
from webui.background_work import Outcome, Progress, WorkQueue
from webui.documents import take_in_document
from webui.drafted import MOST_EXPORTS, begin_drafting
from webui.errors import error_text
from webui.page import FormResult, Page
from webui.request_fields import form_field, query_arg, required_field
from webui.uploads import Drafting, SentFile, Upload, Uploads
from webui.visitors import may, state_folder, visitor

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from vault.store.index.rows import Snapshot
    from vault.store.local.lock import Lock

_FIELDS = ("axis", "family", "channel", "taken_at", "node_id", "partial", "even_so")
_MOST_SENTENCES = 6
_TIME_SOURCES = {
    "given": "as said here",
    "nameplate": "as the export says",
    "file": "as the file proposes",
    "now": "now",
}
_OBJECTION_TITLES = {
    "wrong_axis": "Is this the right axis?",
    "wrong_side": "Whose set is this, the drive's or the controller's?",
    "retired": "This axis is out of use",
    "description": "Is this an export of a drive?",
    "missing": "Is this the whole set?",
    "cut_off": "Is this the whole file?",
    "proves_nothing": "Is this a new export?",
}


def take_in(vault: Vault) -> Page:
    """Where exports are chosen."""
    return Page(
        "take_in.html",
        "Take exports in",
        lambda: take_in_document(vault.axes()),
        {
            "axes": (*vault.axes(), *vault.controller_sets()),
            "occasions": OCCASIONS,
            "is_allowed": may("technician"),
            "axis": query_arg("axis"),
            "sides": SIDES,
            "side": "controller" if query_arg("side") == "controller" else SIDES[0],
            "family": query_arg("family"),
            "has_families": bool(vault.family_names()),
            "is_watched": bool(watched_folders(vault.state)),
        },
        (("Site", "/"),),
    )


def send(vault: Vault, account: Account) -> FormResult:
    """Keep what was sent, to be looked at; a script has its one file stored at once."""
    if request.path.startswith("/api/"):
        return _store_at_once(vault, account)
    uploads = Uploads(state_folder(current_app))
    upload = uploads.keep(account.name, request.files.getlist("export"))
    count = len(upload.files)
    try:
        axis = _axis_field()
        upload.occasion = form_field("occasion") or DEFAULT_OCCASION
        upload.work_order, upload.note = form_field("work_order") or "", form_field("note") or ""
        if axis is not None:
            upload.files = [replace(sent, axis=axis) for sent in upload.files]
        else:
            upload.files = [
                placed for sent in upload.files for placed in _placed(vault, uploads, upload, sent)
            ]
        if family := form_field("family"):
            upload.files = [replace(sent, family=family) for sent in upload.files]
        upload.name_all()
        uploads.note(upload)
    except BaseException:
        uploads.drop(upload)
        raise
    words = f"{plural(count, 'file')} sent; nothing is stored yet."
    return FormResult(f"/take-in/{upload.id}", words)


def _axis_field() -> str | None:
    """The axis that was typed, of the side that was chosen beside it; None for none.

    Raises WrongUsage for the controller's side of no axis: its export tells none.
    """
    axis, side = form_field("axis"), form_field("side")
    if side is None or checked_side(side) == "drive":  # as the form begins: the address may say it
        return axis
    if axis is None:
        raise WrongUsage("the controller's side of which axis?", hint="machine/axis")
    return str(Address.parse(axis).controller)


def _placed(vault: Vault, uploads: Uploads, upload: Upload, sent: SentFile) -> list[SentFile]:
    """A file once for every axis that it seems to hold."""
    content = uploads.path(upload, sent).read_bytes()
    places = proposed_places(vault, content, sent.name)
    return [
        replace(sent, axis=str(axis), channel=str(number or "")) for axis, number in places
    ] or [sent]


def _store_at_once(vault: Vault, account: Account) -> FormResult:
    uploads = Uploads(state_folder(current_app))
    upload = uploads.keep(account.name, request.files.getlist("export"))
    try:
        if len(upload.files) != 1:
            raise WrongUsage("one export at a time is taken in here")
        upload.occasion = form_field("occasion") or DEFAULT_OCCASION
        upload.work_order, upload.note = form_field("work_order") or "", form_field("note") or ""
        sent = upload.files[0]
        for name in _FIELDS:
            setattr(sent, name, form_field(name) or "")
        required_field("axis")
        sent.axis = _axis_field() or ""
        ingested = _store(vault, uploads, upload, sent, account)
    finally:
        uploads.drop(upload)
    return FormResult(f"/axis/{sent.axis}", "Stored.", ingest_document(ingested))


@dataclass(frozen=True, slots=True)
class PreviewedFile:
    """One file that was sent, and what it would be; else why it cannot be taken in.

    `may_be_drafted` is whether no family takes it, and a dictionary may be drafted from it.
    """

    sent: SentFile
    preview: Preview | None
    problem: VaultError | None
    may_be_drafted: bool = False

    @property
    def is_ready(self) -> bool:
        """Whether it would be stored as it is: nothing is left for a person to say."""
        seen = self.preview
        if seen is None or seen.must_say_when:
            return False
        return not seen.objections or bool(self.sent.even_so)


def waiting_exports(vault: Vault, upload_id: str) -> Page:
    """What the exports that were sent would change."""
    account = visitor()
    uploads = Uploads(state_folder(current_app))
    upload = uploads.read(upload_id, account.name if account else "")
    previewed = [_previewed(vault, uploads, upload, sent) for sent in upload.files]
    content: dict[str, Any] = {
        "upload": upload,
        "previewed": previewed,
        "axes": (*vault.axes(), *vault.controller_sets()),
        "families": vault.family_names(),
        "occasions": OCCASIONS,
        "ready": sum(file.is_ready for file in previewed),
        "most": _MOST_SENTENCES,
        "time_sources": _TIME_SOURCES,
        "objection_titles": _OBJECTION_TITLES,
    }
    return Page("waiting.html", "Before it is stored", dict, content, (("Take in", "/take-in"),))


def _previewed(vault: Vault, uploads: Uploads, upload: Upload, sent: SentFile) -> PreviewedFile:
    problems: list[VaultError] = []
    with told_apart(problems.append, sent.name):
        visit = _visit(upload, sent, "Nobody <>")
        content = read_content(uploads.path(upload, sent))
        if not sent.axis:  # what is wrong with the file itself comes first
            family = vault.family_file(sent.family) if sent.family else None
            known = families_of(vault).values()
            recognise(content, sent.name, family, known=known, channel=visit.channel)
        place = _address(vault, sent)
        return PreviewedFile(sent, preview(vault, content, sent.name, place, visit), None)
    return PreviewedFile(sent, None, problems[0], _is_unknown(vault, uploads, upload, sent))


def _is_unknown(vault: Vault, uploads: Uploads, upload: Upload, sent: SentFile) -> bool:
    if sent.family:
        return False
    with told_apart(lambda _: None, sent.name):
        content = read_content(uploads.path(upload, sent))
        return may_be_drafted(content, sent.name, list_families(vault, lambda _: None))
    return False


def store_waiting(vault: Vault, account: Account, upload_id: str) -> FormResult:
    """Keep what was chosen, and store it all, or look again."""
    uploads = Uploads(state_folder(current_app))
    upload, lock = uploads.claimed(upload_id, account.name)
    is_passed_on = False
    try:
        upload.occasion = form_field("occasion") or upload.occasion
        upload.work_order, upload.note = form_field("work_order") or "", form_field("note") or ""
        for sent in upload.files:
            for name in _FIELDS:
                setattr(sent, name, form_field(f"{name}-{sent.key}") or "")
        uploads.note(upload)
        match form_field("do"):
            case "store":
                done = _begin_storing(uploads, upload, account, lock)
                is_passed_on = True
                return done
            case "forget":
                uploads.drop(upload)
                return FormResult("/take-in", "Nothing was stored; the files are gone from here.")
            case str(do) if do.startswith("draft-"):
                return _begin_drafting(vault, uploads, upload, do.removeprefix("draft-"))
        return FormResult(f"/take-in/{upload_id}", "Looked again; nothing is stored yet.")
    finally:
        if not is_passed_on:
            lock.release()


def _begin_drafting(vault: Vault, uploads: Uploads, upload: Upload, key: str) -> FormResult:
    """Draft a dictionary from one export, and from others that no family takes either."""
    for sent in upload.files:
        sent.use = "draft" if _is_unknown(vault, uploads, upload, sent) else ""
    upload.drafting, upload.news = Drafting("family", first=key, is_taken_in=True), ""
    exports = upload.drafted_from
    if not exports or exports[0].key != key:
        raise WrongUsage("this is nothing to draft a dictionary from")
    for sent in exports[MOST_EXPORTS:]:
        sent.use = ""
    begin_drafting(vault, uploads, upload)
    return FormResult(f"/draft/{upload.id}", "This is a proposal; nothing is stored yet.")


def _begin_storing(uploads: Uploads, upload: Upload, account: Account, lock: Lock) -> FormResult:
    """Begin it; the lock is released when it has ended."""

    def task(vault: Vault, place: Path, progress: Progress) -> Outcome:
        return _store_all(vault, uploads, upload, account, progress)

    queue: WorkQueue = current_app.extensions["work_queue"]
    title = f"Take in {plural(len(upload.files), 'export')}"
    work = queue.start(title, account, task, f"/take-in/{upload.id}", lock.release)
    return FormResult(f"/work/{work.id}", "Storing has begun.")


def _store_all(
    vault: Vault, uploads: Uploads, upload: Upload, account: Account, progress: Progress
) -> Outcome:
    """Store one after the other; what is stored is forgotten here at once, what is not stays."""
    lines: list[str] = []
    stored: list[IngestDocument] = []
    left: list[SentFile] = []
    every = list(upload.files)
    for number, sent in enumerate(every):
        progress(number, len(every))
        try:
            outcome = _stored(vault, uploads, upload, sent, account)
        except Exception as error:
            known = error if isinstance(error, VaultError) else internal_error(error, sent.name)
            metrics.note_failure()
            lines.append(f"Not stored: {sent.name}: {error_text(known)}")
            sent.begun = ""
            left.append(sent)
        else:
            if isinstance(outcome, Ingested):
                stored.append(ingest_document(outcome))
                lines.append(_stored_sentence(sent, outcome))
                lines += [f"{sent.name}: {warning}" for warning in outcome.warnings]
            else:
                place = f"{sent.axis}@{outcome.id[:10]}"
                lines.append(f"{sent.name} was stored before the viewer ended, as {place}.")
        upload.files = left + every[number + 1 :]
        uploads.note(upload)
    progress(len(every), len(every))
    places = {sent.axis for sent in every}
    link = f"/axis/{every[0].axis}" if len(places) == 1 and not left else None
    if left:
        link = f"/take-in/{upload.id}"
        lines.append("What was not stored waits there to be put right, for a day.")
    else:
        uploads.drop(upload)
    return Outcome(tuple(lines), link, data={"stored": stored, "left": len(left)})


def _stored(
    vault: Vault, uploads: Uploads, upload: Upload, sent: SentFile, account: Account
) -> Ingested | Snapshot:
    """Store one export, unless that was done when the viewer ended in the middle of it."""
    if sent.begun:
        place, visit = _address(vault, sent), _visit(upload, sent, account.person)
        stored = find_stored_file(vault, uploads.path(upload, sent), place, visit)
        if stored is not None:
            return stored
    sent.begun = sent.begun or time_text(now())
    uploads.note(upload)
    return _store(vault, uploads, upload, sent, account)


def _store(
    vault: Vault, uploads: Uploads, upload: Upload, sent: SentFile, account: Account
) -> Ingested:
    visit = _visit(upload, sent, account.person)
    return ingest(vault, uploads.path(upload, sent), _address(vault, sent), visit)


def _stored_sentence(sent: SentFile, ingested: Ingested) -> str:
    if ingested.comparison is None:
        what = "the first snapshot of the axis"
    elif ingested.unchanged:
        what = "no setting changed"
    else:
        what = f"{plural(len(ingested.comparison.news), 'parameter')} changed"
    if ingested.drift is not None and ingested.drift.count:
        what += f"; {plural(ingested.drift.count, 'parameter')} not as approved"
    if ingested.drift is not None and ingested.drift.floors:
        what += f"; {counted(ingested.drift.floors)}"
    return f"{sent.name} is stored as {sent.axis}@{ingested.snapshot.id[:10]}: {what}."


def _address(vault: Vault, sent: SentFile) -> Address:
    if not sent.axis:
        raise WrongUsage("say which axis it belongs to", hint="machine/axis")
    return vault.address(sent.axis)


def _visit(upload: Upload, sent: SentFile, by: str) -> Visit:
    visit = parse_visit(
        by,
        upload.occasion,
        sent.taken_at,
        upload.work_order,
        upload.note,
        family=sent.family,
        channel=sent.channel,
        partial=bool(sent.partial),
        override_reason=sent.even_so,
        node_id=sent.node_id,
    )
    return replace(visit, begun_at=parse_time(sent.begun)) if sent.begun else visit
