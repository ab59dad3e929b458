"""Long work: it goes on behind the pages, tells how far it is, and keeps what came of it.

Each has a folder beside the repository, `work/<id>/`, with what is known of it and its file. One
whose process died is found by its lock, which the system freed.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic

from vault.jobs.state.document_parts import EmptyDocument
from vault.model.accounts import Account
from vault.model.errors import Unavailable, VaultError, WrongUsage
from vault.model.wording import plural
from vault.model.written_form import placed, written_as
from vault.store.clock import now, parse_time, time_text
from vault.store.local.lock import Lock, take_lock
from vault.store.local.private_folder import private_folder
from vault.store.vault import Vault
from webui.documents import CameOfWork
from webui.errors import error_text, own_text

_KEPT = timedelta(days=14)
_AT_ONCE = threading.Semaphore(2)
_MOST_WAITING = 40
_WRITE_EVERY = 0.3
_ID = re.compile(r"[A-Za-z0-9_-]{16}")
Progress = Callable[[int, int], None]
_ENDED = ("done", "failed", "stopped")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of work: sentences, where to read on, a file in its folder, the same as JSON."""

    sentences: tuple[str, ...] = ()
    link: str | None = None
    file: str | None = None
    data: CameOfWork = field(default_factory=EmptyDocument)


@dataclass(frozen=True, slots=True)
class Work:
    """Work as it stands: `waiting`, `running`, `done`, `failed`, or `stopped` with its process."""

    id: str
    title: str
    account: str
    begun: str
    state: str = "waiting"
    done: int = 0
    total: int = 0
    ended: str | None = None
    sentences: tuple[str, ...] = ()
    link: str | None = None
    file: str | None = None
    data: CameOfWork = field(default_factory=EmptyDocument)

    @property
    def begun_at(self) -> datetime:
        """When it began, in the site's time."""
        return placed(parse_time(self.begun))

    @property
    def ended_at(self) -> datetime | None:
        """When it ended, in the site's time."""
        return placed(parse_time(self.ended)) if self.ended else None

    @property
    def is_over(self) -> bool:
        """Whether nothing more happens."""
        return self.state in _ENDED


Task = Callable[[Vault, Path, Progress], Outcome]


class WorkQueue:
    """The work of a vault; `folder` is beside its repository."""

    def __init__(self, vault: Path, most: int | None = None) -> None:
        """`most` is how much work of one account may wait or run at a time; None: any."""
        self._vault, self._most = vault, most
        self._folder = vault / "axisvault" / "work"
        self._accounts: dict[threading.Thread, str] = {}

    def start(
        self,
        title: str,
        account: Account,
        task: Task,
        link: str | None = None,
        ended: Callable[[], None] = lambda: None,
    ) -> Work:
        """Begin a task in a thread of its own; it gets an open vault and its folder.

        `link` is where to go on if it comes to nothing; `ended` is called when it is over, however
        that came. Raises Unavailable where nothing can be written, or too much waits.
        """
        self._accounts = {t: name for t, name in self._accounts.items() if t.is_alive()}
        if len(self._accounts) >= _MOST_WAITING:
            raise Unavailable("too much work waits to be done", hint="try again in some minutes")
        own = sum(name == account.name for name in self._accounts.values())
        if self._most is not None and own >= self._most:
            raise Unavailable(
                f"{plural(own, 'work', 'works')} of {account.name} run already",
                hint="wait until one has ended",
            )
        work = Work(secrets.token_urlsafe(12), title, account.name, time_text(now()), link=link)
        place = self._folder / work.id
        try:
            private_folder(self._folder)
            place.mkdir(mode=0o700)
            self._clear_out()
            lock = take_lock(place / "lock")
            _write(place, work)
        except OSError as error:
            raise Unavailable(f"work cannot be begun: {error.strerror}") from error
        assert lock is not None, "nobody else knows the folder yet"
        thread = threading.Thread(
            target=self._do, args=(work, place, task, lock, ended), daemon=True
        )
        self._accounts[thread] = account.name
        thread.start()
        return work

    def wait(self, seconds: float) -> None:
        """Give work that is under way some time to end."""
        end = monotonic() + seconds
        for thread in self._accounts:
            thread.join(max(0.0, end - monotonic()))

    def read(self, identity: str) -> Work:
        """Work as it stands. Raises WrongUsage where there is none of that id."""
        place = self._folder / identity
        if not _ID.fullmatch(identity) or not (place / "work.json").is_file():
            raise WrongUsage("there is no such work", hint="it is forgotten after two weeks")
        work = _read(place)
        if work.is_over or _is_held(place):
            return work
        again = _read(place)  # it may have ended in between
        return again if again.is_over else replace(again, state="stopped")

    def all(self, account: Account) -> Iterator[Work]:
        """The account's work, latest first; an admin sees everybody's."""
        places = self._folder.glob("*/work.json")
        works: list[Work] = []
        for place in places:
            with suppress(OSError, WrongUsage, ValueError):
                works.append(self.read(place.parent.name))
        works.sort(key=lambda work: work.begun, reverse=True)
        yield from (work for work in works if may_see(account, work))

    def file_of(self, work: Work) -> Path | None:
        """The file that came of work."""
        return self._folder / work.id / work.file if work.file else None

    def _do(
        self, work: Work, place: Path, task: Task, lock: Lock, ended: Callable[[], None]
    ) -> None:
        try:
            with _AT_ONCE:
                work = self._done(replace(work, state="running"), place, task)
            _write(place, replace(work, ended=time_text(now())))
        finally:
            ended()
            lock.release()

    def _done(self, work: Work, place: Path, task: Task) -> Work:
        written = monotonic() - _WRITE_EVERY
        seen = (0, 0)

        def progress(done: int, total: int) -> None:
            nonlocal written, seen
            seen = (done, total)
            if monotonic() - written >= _WRITE_EVERY:
                written = monotonic()
                _write(place, replace(work, done=done, total=total))

        _write(place, work)
        try:
            with Vault.open(self._vault) as vault, written_as(vault.written_form):
                came = task(vault, place, progress)
        except VaultError as error:
            return replace(work, state="failed", sentences=(error_text(error),))
        except Exception as error:
            return replace(work, state="failed", sentences=(own_text(error, work.title),))
        total = max(seen)
        return replace(
            work, state="done", done=total, total=total, sentences=came.sentences,
            link=came.link, file=came.file, data=came.data,
        )  # fmt: skip

    def _clear_out(self) -> None:
        """Forget what ended long ago."""
        for place in self._folder.iterdir():
            with suppress(OSError, ValueError):
                work = _read(place)
                if now() - parse_time(work.begun) > _KEPT and not _is_held(place):
                    shutil.rmtree(place, ignore_errors=True)


def may_see(account: Account, work: Work) -> bool:
    """Whether an account may look at work."""
    return account.name == work.account or account.may("admin")


def _read(place: Path) -> Work:
    kept = json.loads((place / "work.json").read_text("utf-8"))
    return Work(**{**kept, "sentences": tuple(kept["sentences"])})


def _write(place: Path, work: Work) -> None:
    scratch = place / "work.json.new"
    scratch.write_text(json.dumps(asdict(work), ensure_ascii=False), "utf-8")
    scratch.replace(place / "work.json")


def _is_held(place: Path) -> bool:
    lock = take_lock(place / "lock")
    if lock is None:
        return True
    lock.release()
    return False
