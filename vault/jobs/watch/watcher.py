"""Watching a folder: what is dropped there is taken in, once, and put away.

The order of steps makes a crash at any moment harmless: a file is recorded, then moved. One that
was recorded and not moved is found in the vault by axis, moment and bytes, and is only moved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic, sleep

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.intake.report import Ingested
from vault.jobs.watch.drop_folder import DONE, REFUSED, DropFolder
from vault.jobs.watch.folder_events import FolderEvents, WakeUp
from vault.jobs.watch.known_folders import note_watched
from vault.jobs.watch.portion import CompleteFile, read_complete, record_each
from vault.jobs.watch.settling import Settling, Stamp
from vault.model.errors import Unavailable, VaultError, WrongUsage
from vault.model.internal_errors import internal_error
from vault.model.names import Address
from vault.model.visible_text import escaped
from vault.model.watch_rules import WatchRules
from vault.store.git import packing
from vault.store.local.lock import take_lock
from vault.store.vault import Vault

SETTLE_SECONDS = 3.0
LOOK_EVERY_SECONDS = 30.0
_RETRY_SECONDS = 10.0
_SHORTEST_PAUSE = 0.05
# Written in portions: the vault is held for a moment only, and memory stays flat.
_PORTION_FILES = 100
_PORTION_BYTES = 64 * 1024 * 1024
_HOUSEKEEPING_FROM = 200
PATIENCE_SECONDS = 2.0  # with a busy vault, before the next try


@dataclass(frozen=True, slots=True)
class Dropped:
    """What became of a dropped file. Its old and its new path are relative to the folder.

    `ingested` is None where the vault had it already, `error` says why it was refused, and
    `moved_to` is None where it was taken in but could not be moved yet.
    """

    file: str
    moved_to: str | None
    ingested: Ingested | None = None
    error: VaultError | None = None

    @property
    def outcome(self) -> str:
        """In one word: `taken`, `already_there` or `refused`."""
        if self.error is not None:
            return "refused"
        return "already_there" if self.ingested is None else "taken"


class Watcher:
    """Takes in what is complete in a folder, one look after the other.

    `tell` gets what became of every file, `note` what a person should know but need not act on.
    `worst` is the highest exit code of all failures so far.
    """

    def __init__(
        self,
        vault: Path,
        folder: Path,
        by: str,
        *,
        settle: float = SETTLE_SECONDS,
        tell: Callable[[Dropped], None] = lambda dropped: None,
        note: Callable[[str], None] = lambda text: None,
        patience: float = PATIENCE_SECONDS,
    ) -> None:
        Vault.open(vault).close()  # says at once if there is none
        self.folder = DropFolder(folder)
        _check_apart(vault.resolve(), self.folder.root)
        self.folder.rules()
        self.worst = 0
        self._vault = vault.resolve()
        self._by = by
        self._settle = settle
        self._settling = Settling(settle)
        self._tell = tell
        self._note = note
        self._patience = patience
        self._noted: dict[str, str] = {}
        self._unpacked = 0
        self._wake_up = WakeUp()
        self._is_stopping = False

    def stop(self) -> None:
        """End after the running portion. May be called from a signal handler."""
        self._is_stopping = True
        self._wake_up.call()

    def run(self, poll: float | None = None) -> None:
        """Watch until `stop`, by events or every `poll` seconds."""
        events = FolderEvents(
            self.folder.root, self._wake_up.call, self._note, poll=poll, left_out=(DONE, REFUSED)
        )
        with self._only_watcher():
            try:
                while not self._is_stopping:
                    events.listen()
                    pause = self.step(monotonic())
                    if self._wake_up.wait(pause) and not self._is_stopping:
                        sleep(_SHORTEST_PAUSE)  # events come in swarms
                        self._wake_up.forget()
            finally:
                events.close()

    def once(self) -> None:
        """Take in what is complete now."""
        with self._only_watcher():
            began = monotonic()
            self.step(began)
            while not self._is_stopping and (left := began + self._settle - monotonic()) > 0:
                self._wake_up.wait(left)
            if not self._is_stopping:
                self.step(monotonic())

    def step(self, moment: float) -> float:
        """Look once and take in what is complete. Returns seconds after which to look again.

        `moment` is the time of the look, in seconds of a clock that never goes back.
        """
        try:
            stamps = self.folder.files(lambda text: self._note_once(text, text))
            rules = self.folder.rules()
        except OSError as error:
            self._fail("look", f"the folder cannot be looked at: {error.strerror or error}", 4)
            return _RETRY_SECONDS
        except VaultError as error:
            self._fail("look", f"{escaped(str(error))}; until then nothing is taken in", 4)
            return _RETRY_SECONDS
        self._noted.pop("look", None)
        complete = self._settling.complete(stamps, moment)
        complete.sort(key=lambda path: stamps[path].changed)
        for portion in self._portions(complete, stamps, rules, moment):
            self._take(portion, moment)
            if self._is_stopping:
                break
        self._pack()
        soonest = self._settling.next_moment()
        pause = LOOK_EVERY_SECONDS if soonest is None else soonest - moment
        return min(max(pause, _SHORTEST_PAUSE), LOOK_EVERY_SECONDS)

    def _portions(
        self,
        complete: list[Path],
        stamps: dict[Path, Stamp],
        rules: WatchRules | None,
        moment: float,
    ) -> Iterator[list[CompleteFile]]:
        portion: list[CompleteFile] = []
        size = 0
        for path in complete:
            file = self._read(path, stamps[path], rules, moment)
            if file is None:
                continue
            portion.append(file)
            size += len(file.content or b"")
            if len(portion) >= _PORTION_FILES or size >= _PORTION_BYTES:
                yield portion
                portion, size = [], 0
        if portion:
            yield portion

    def _read(
        self, path: Path, stamp: Stamp, rules: WatchRules | None, moment: float
    ) -> CompleteFile | None:
        """Read a file; None where it is not complete after all."""
        try:
            file = read_complete(self.folder, path, stamp, rules, self._by)
        except FileNotFoundError:
            return None
        except OSError as error:
            self._note_once(str(path), f"{escaped(path)} cannot be read yet: {error.strerror}")
            self._settling.postpone(path, moment + _RETRY_SECONDS)
            return None
        except Exception as error:  # at this file, and no other
            return CompleteFile(path, stamp, refusal=internal_error(error, escaped(path)))
        if file is None:
            self._settling.restart(path)
        return file

    def _take(self, portion: list[CompleteFile], moment: float) -> None:
        """Record a portion and put it away."""
        wanted = [file for file in portion if file.refusal is None]
        try:
            if wanted:
                with Vault.open(self._vault) as vault, vault.writing(self._patience):
                    record_each(vault, wanted)
        except (VaultError, OSError) as error:
            code = error.exit_code if isinstance(error, VaultError) else Unavailable.exit_code
            self._fail("vault", f"{escaped(str(error))}; the files stay, and are tried again", code)
            for file in portion:
                self._settling.postpone(file.path, moment + _RETRY_SECONDS)
            return
        self._noted.pop("vault", None)
        for file in portion:
            self._put_away(file, moment)
        taken = {file.ingested.snapshot.address: None for file in portion if file.ingested}
        self._unpacked += sum(file.ingested is not None for file in portion)
        if taken:
            self._alert(list(taken))

    def _alert(self, taken: list[Address]) -> None:
        try:
            with Vault.open(self._vault) as vault:
                remarks = alert(vault, taken)
        except (VaultError, OSError) as error:
            remarks = [str(error)]
        for remark in remarks:
            self._fail("alert", escaped(remark), Unavailable.exit_code)

    def _put_away(self, file: CompleteFile, moment: float) -> None:
        name = escaped(file.path)
        if file.waits_for is not None:
            self._fail(str(file.path), escaped(str(file.waits_for)), file.waits_for.exit_code)
            self._settling.postpone(file.path, moment + _RETRY_SECONDS)
            return
        try:
            place = self.folder.put_away(file.path, file.stamp, file.sha256, file.refusal)
        except OSError as error:
            reason = f"{name} cannot be moved: {error.strerror or error}; this is tried again"
            self._fail(str(file.path), reason, Unavailable.exit_code)
            self._settling.postpone(file.path, moment + _RETRY_SECONDS)
            place = None
        else:
            self._noted.pop(str(file.path), None)
            if place is None:
                self._settling.restart(file.path)
        if place is None and file.ingested is None:
            return  # told when it is moved
        refusal = _escaped(file.refusal)
        self.worst = max(self.worst, refusal.exit_code if refusal else 0)
        self._tell(Dropped(name, escaped(place) if place else None, file.ingested, refusal))

    def _pack(self) -> None:
        if self._unpacked < _HOUSEKEEPING_FROM or self._is_stopping:
            return
        self._unpacked = 0
        try:
            with Vault.open(self._vault) as vault, vault.writing(self._patience):
                packing.housekeeping(vault.repository)
        except (VaultError, OSError) as error:  # the vault is only larger than need be
            self._note(f"the vault could not be packed: {error}")

    def _fail(self, key: str, text: str, code: int) -> None:
        self.worst = max(self.worst, code)
        self._note_once(key, text)

    def _note_once(self, key: str, text: str) -> None:
        """Note something once, until it changes."""
        if self._noted.get(key) != text:
            self._noted[key] = text
            self._note(text)

    @contextmanager
    def _only_watcher(self) -> Iterator[None]:
        """Be the only one who watches the folder. Raises Unavailable where another one does."""
        try:
            lock = take_lock(self.folder.root / ".axisvault-watch.lock")
        except OSError as error:
            self._note(f"the folder cannot be locked ({error}): let nobody else watch it")
            note_watched(self._vault / "axisvault", self.folder.root)
            yield
            return
        if lock is None:
            raise Unavailable(
                "another process watches this folder",
                file=escaped(self.folder.root),
                hint="one is enough; end it first",
            )
        with lock:
            note_watched(self._vault / "axisvault", self.folder.root)
            yield


def _check_apart(vault: Path, folder: Path) -> None:
    if vault.is_relative_to(folder) or folder.is_relative_to(vault):
        raise WrongUsage(
            f"the vault {vault} and the watched folder {folder} lie in each other",
            hint="watch a folder of its own",
        )


def _escaped(error: VaultError | None) -> VaultError | None:
    if error is None:
        return None
    file = None if error.file is None else escaped(error.file)
    return type(error)(escaped(error.message), file=file, line=error.line, hint=error.hint)
