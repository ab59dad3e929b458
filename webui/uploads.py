"""Exports that somebody sent and has not stored yet: kept beside the repository for a while.

That is a day after the last change, or two weeks where somebody else is to look at it.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import MAX_BYTES
from vault.model.errors import Refused, Unavailable, Unreadable, WrongUsage
from vault.model.names import safe_file_name
from vault.model.wording import plural
from vault.store.clock import moment_of_second, now
from vault.store.local.lock import Lock, take_lock
from vault.store.local.private_folder import private_folder

if TYPE_CHECKING:
    from collections.abc import Iterable

    from werkzeug.datastructures import FileStorage

MOST_FILES = 200
KEPT, KEPT_FOR_OTHERS = timedelta(days=1), timedelta(days=14)
_ID = re.compile(r"[A-Za-z0-9_-]{16}")
_NOTES = "notes.json"


@dataclass(slots=True)
class SentFile:
    """One export that was sent: its name, where it lies, and what was chosen for it so far.

    `begun` is when storing it began, and stays where the process died over it. `key` names it in
    forms: others of its upload may be stored while a page is open. `use` is what it is to a
    dictionary that is drafted: `draft` for an export to draft from, `describe` for a description.
    """

    name: str
    place: str
    axis: str = ""
    family: str = ""
    channel: str = ""
    taken_at: str = ""
    node_id: str = ""
    partial: str = ""
    even_so: str = ""
    begun: str = ""
    key: str = ""
    use: str = ""


@dataclass(slots=True)
class Drafting:
    """What somebody said so far of a dictionary that is drafted from exports.

    `answers` go by what they answer; `roles` by code, an empty one for no role. `first` is the key
    of the export by which the others are read. `is_taken_in` is whether it began with exports to be
    taken in, to which one comes back. `asked_by` is who left it to an approver, and `asked_at` when
    (RFC 3339), both empty where nobody did. `recognise` are patterns by their place, None where
    they are guessed.
    """

    name: str
    title: str = ""
    answers: dict[str, str] = field(default_factory=dict)
    roles: dict[str, str] = field(default_factory=dict)
    first: str = ""
    is_taken_in: bool = False
    asked_by: str = ""
    asked_at: str = ""
    recognise: dict[str, str] | None = None


@dataclass(slots=True)
class Upload:
    """Exports that were sent together, by whom, and what holds for all of them.

    `news` is what somebody else did with it, for whoever sent it.
    """

    id: str
    account: str
    files: list[SentFile]
    occasion: str = "routine"
    work_order: str = ""
    note: str = ""
    drafting: Drafting | None = None
    news: str = ""

    @property
    def waits_for_approver(self) -> bool:
        """Whether a draft of it was left to an approver."""
        return self.drafting is not None and bool(self.drafting.asked_at)

    @property
    def kept_for(self) -> timedelta:
        """How long it is kept after the last change."""
        return KEPT_FOR_OTHERS if self.waits_for_approver or self.news else KEPT

    @property
    def drafted_from(self) -> list[SentFile]:
        """Exports that a dictionary is drafted from, first the one by which the others are read."""
        first = self.drafting.first if self.drafting else ""
        used = (sent for sent in self.files if sent.use == "draft")
        return sorted(used, key=lambda sent: sent.key != first)

    @property
    def descriptions(self) -> list[SentFile]:
        """Descriptions of the device that were sent with exports."""
        return [sent for sent in self.files if sent.use == "describe"]

    def name_all(self) -> None:
        """Give every file a key that has none yet."""
        for number, sent in enumerate(self.files):
            sent.key = sent.key or str(number)


class Uploads:
    """The uploads of a vault."""

    def __init__(self, state: Path) -> None:
        self._folder = state / "uploads"

    def keep(self, account: str, files: Iterable[FileStorage]) -> Upload:
        """Keep files that were sent. Raises Unreadable for one too large, WrongUsage for none."""
        wanted = [file for file in files if file.filename]
        if not wanted:
            raise WrongUsage("no file was sent", hint="choose the exports first")
        if len(wanted) > MOST_FILES:
            raise WrongUsage(
                f"{plural(len(wanted), 'file')}; up to {MOST_FILES} are taken at once",
                hint="axisvault ingest-tree takes whole folders",
            )
        upload = Upload(secrets.token_urlsafe(12), account, [])
        place = self._folder / upload.id
        try:
            private_folder(self._folder)
            place.mkdir(mode=0o700)
            self._clear_out()
            for number, file in enumerate(wanted):
                upload.files.append(_kept(file, number, place))
            self.note(upload)
        except BaseException as error:
            shutil.rmtree(place, ignore_errors=True)
            if isinstance(error, OSError):
                raise Unavailable(f"the files cannot be kept: {error.strerror}") from error
            raise
        return upload

    def read(self, identity: str, account: str, *, is_approver: bool = False) -> Upload:
        """An upload of an account, or one that waits for an approver.

        Raises WrongUsage where there is none.
        """
        try:
            upload = self._noted(identity)
            if upload.account != account and not (is_approver and upload.waits_for_approver):
                raise ValueError(account)
        except (OSError, ValueError, TypeError, KeyError):
            raise WrongUsage(
                "there is nothing here that waits to be stored",
                hint="it was stored, or sent by somebody else, or kept until its time was over",
            ) from None
        return upload

    def _noted(self, identity: str) -> Upload:
        """An upload as it was noted. Raises OSError, ValueError, TypeError, KeyError."""
        if not _ID.fullmatch(identity):
            raise ValueError(identity)
        notes = json.loads((self._folder / identity / _NOTES).read_text("utf-8"))
        notes["files"] = [SentFile(**sent) for sent in notes["files"]]
        if notes.get("drafting") is not None:
            notes["drafting"] = Drafting(**notes["drafting"])
        upload = Upload(**notes)
        upload.name_all()
        if self.kept_until(upload) < now():
            raise ValueError(identity)
        return upload

    def kept_until(self, upload: Upload) -> datetime:
        """When it is forgotten, unless something of it is changed before. Raises OSError."""
        changed = int((self._folder / upload.id).stat().st_mtime)
        return moment_of_second(changed) + upload.kept_for

    def all_of(self, account: str, *, is_approver: bool = False) -> list[Upload]:
        """Uploads of an account, with those that wait for an approver, latest change first."""
        found: list[tuple[float, Upload]] = []
        with suppress(OSError):
            for place in self._folder.iterdir():
                with suppress(WrongUsage, OSError):
                    upload = self.read(place.name, account, is_approver=is_approver)
                    found.append((place.stat().st_mtime, upload))
        return [upload for _, upload in sorted(found, key=lambda one: -one[0])]

    def note(self, upload: Upload) -> None:
        """Keep what was chosen. Raises Unavailable."""
        place = self._folder / upload.id
        scratch = place / f"{_NOTES}.new"
        try:
            scratch.write_text(json.dumps(asdict(upload), ensure_ascii=False), "utf-8")
            scratch.replace(place / _NOTES)
        except OSError as error:
            raise Unavailable(f"what was chosen cannot be kept: {error.strerror}") from error

    def path(self, upload: Upload, sent: SentFile) -> Path:
        """Where a file lies."""
        return self._folder / upload.id / sent.place / sent.name

    def claimed(
        self, identity: str, account: str, *, is_approver: bool = False
    ) -> tuple[Upload, Lock]:
        """An upload to be changed or stored, by nobody else until its lock is released.

        Raises WrongUsage where there is none, Refused where it is being stored.
        """
        self.read(identity, account, is_approver=is_approver)
        try:
            lock = take_lock(self._folder / f"{identity}.lock")
        except OSError as error:
            raise Unavailable(f"the files cannot be kept: {error.strerror}") from error
        if lock is None:
            raise Refused("these are being stored already", hint="see 'Work' on top")
        try:
            # As whoever had it until now left it.
            return self.read(identity, account, is_approver=is_approver), lock
        except WrongUsage:
            self.forget_lock(identity)
            lock.release()
            raise

    def drop(self, upload: Upload) -> None:
        """Forget an upload."""
        shutil.rmtree(self._folder / upload.id, ignore_errors=True)
        self.forget_lock(upload.id)

    def drop_file(self, upload: Upload, sent: SentFile) -> None:
        """Forget one file of an upload."""
        upload.files.remove(sent)
        self.path(upload, sent).unlink(missing_ok=True)
        self.note(upload)

    def forget_lock(self, identity: str) -> None:
        """Take away the lock of an upload that is gone."""
        with suppress(OSError):
            (self._folder / f"{identity}.lock").unlink(missing_ok=True)

    def _clear_out(self) -> None:
        for place in self._folder.iterdir():
            with suppress(OSError):
                if now() - moment_of_second(int(place.stat().st_mtime)) <= KEPT:
                    continue
                with suppress(OSError, ValueError, TypeError, KeyError):
                    if place.is_dir() and self._noted(place.name):
                        continue
                shutil.rmtree(place) if place.is_dir() else place.unlink()


def _kept(file: FileStorage, number: int, place: Path) -> SentFile:
    name = safe_file_name(file.filename or "export")
    own = place / str(number)
    own.mkdir()
    file.save(own / name)
    if (own / name).stat().st_size > MAX_BYTES:
        raise Unreadable(f"exports up to {MAX_BYTES // 2**20} MiB are read", file=name)
    return SentFile(name, str(number))
