"""Watching a folder: what is dropped there is taken in, once, and put away.

The order of steps makes a crash at any moment harmless: a file is recorded, then moved. One that
was recorded and not moved is found in the vault by axis, moment and bytes, and is only moved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic, sleep

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.export.content import read_content
from vault.jobs.intake.planned import Planned
from vault.jobs.intake.read_for_axis import families_of
from vault.jobs.intake.report import Ingested
from vault.jobs.intake.take_in_once import take_in_once
from vault.jobs.watch.drop_folder import DONE, REFUSED, DropFolder
from vault.jobs.watch.folder_events import Bell, FolderEvents
from vault.jobs.watch.settling import Settling, Stamp
from vault.model.errors import Damaged, Unavailable, VaultError, WrongUsage
from vault.model.names import Address
from vault.model.visible_text import escaped
from vault.model.watch_rules import WatchRules
from vault.store.files.snapshot_text import digest
from vault.store.git import packing
from vault.store.local.lock import take_lock
from vault.store.recorder import Recorder, recording
from vault.store.vault import FamilyFile, Vault

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


@dataclass(slots=True)
class _Ready:
    """A complete file, as it was read."""

    path: Path
    stamp: Stamp
    content: bytes | None = None
    sha256: str | None = None
    planned: Planned | None = None
    ingested: Ingested | None = None
    error: VaultError | None = None
    stays: VaultError | None = None


class Watcher:
    """Takes in what is complete in a folder, one look after the other.

    `tell` gets what became of every file, `note` what a person should know but need not act on.
    `worst` is the highest exit code of all failures so far.
    """

    def __init__(
        self,
        plant: Path,
        folder: Path,
        by: str,
        *,
        settle: float = SETTLE_SECONDS,
        tell: Callable[[Dropped], None] = lambda dropped: None,
        note: Callable[[str], None] = lambda text: None,
        patience: float = PATIENCE_SECONDS,
    ) -> None:
        Vault.open(plant).close()  # says at once if there is none
        self.folder = DropFolder(folder)
        _check_apart(plant.resolve(), self.folder.root)
        self.folder.rules()
        self.worst = 0
        self._plant = plant.resolve()
        self._by = by
        self._settle = settle
        self._settling = Settling(settle)
        self._tell = tell
        self._note = note
        self._patience = patience
        self._said: dict[str, str] = {}
        self._unpacked = 0
        self._bell = Bell()
        self._is_stopping = False

    def stop(self) -> None:
        """End after the running portion. May be called from a signal handler."""
        self._is_stopping = True
        self._bell.ring()

    def run(self, poll: float | None = None) -> None:
        """Watch until `stop`, by events or every `poll` seconds."""
        news = FolderEvents(
            self.folder.root, self._bell.ring, self._note, poll=poll, left_out=(DONE, REFUSED)
        )
        with self._alone():
            try:
                while not self._is_stopping:
                    news.keep_up()
                    pause = self.step(monotonic())
                    if self._bell.wait(pause) and not self._is_stopping:
                        sleep(_SHORTEST_PAUSE)  # events come in swarms
                        self._bell.hush()
            finally:
                news.close()

    def once(self) -> None:
        """Take in what is complete now."""
        with self._alone():
            began = monotonic()
            self.step(began)
            while not self._is_stopping and (left := began + self._settle - monotonic()) > 0:
                self._bell.wait(left)
            if not self._is_stopping:
                self.step(monotonic())

    def step(self, moment: float) -> float:
        """Look once and take in what is complete. Returns seconds after which to look again.

        `moment` is the time of the look, in seconds of a clock that never goes back.
        """
        try:
            files = self.folder.look(lambda text: self._say(text, text))
            rules = self.folder.rules()
        except OSError as error:
            self._fail("look", f"the folder cannot be looked at: {error.strerror or error}", 4)
            return _RETRY_SECONDS
        except VaultError as error:
            self._fail("look", f"{escaped(str(error))}; until then nothing is taken in", 4)
            return _RETRY_SECONDS
        self._said.pop("look", None)
        complete = self._settling.complete(files, moment)
        complete.sort(key=lambda path: files[path].changed)
        for portion in self._portions(complete, files, rules, moment):
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
        files: dict[Path, Stamp],
        rules: WatchRules | None,
        moment: float,
    ) -> Iterator[list[_Ready]]:
        portion: list[_Ready] = []
        size = 0
        for path in complete:
            ready = self._read(path, files[path], rules, moment)
            if ready is None:
                continue
            portion.append(ready)
            size += len(ready.content or b"")
            if len(portion) >= _PORTION_FILES or size >= _PORTION_BYTES:
                yield portion
                portion, size = [], 0
        if portion:
            yield portion

    def _read(
        self, path: Path, stamp: Stamp, rules: WatchRules | None, moment: float
    ) -> _Ready | None:
        """Read a file; None where it is not complete after all."""
        ready = _Ready(path, stamp)
        source = self.folder.root / path
        try:
            with source.open("rb"):
                pass
            try:
                ready.planned = self.folder.plan(path, rules, self._by)
                ready.content = read_content(source)
                ready.sha256 = digest(ready.content)
            except VaultError as error:
                if isinstance(error.__cause__, OSError):
                    raise error.__cause__ from None
                ready.error = error
            changed = self.folder.stamp(path) != stamp
        except FileNotFoundError:
            return None
        except OSError as error:
            self._say(str(path), f"{escaped(path)} cannot be read yet: {error.strerror}")
            self._settling.postpone(path, moment + _RETRY_SECONDS)
            return None
        if changed:
            self._settling.again(path)
            return None
        return ready

    def _take(self, portion: list[_Ready], moment: float) -> None:
        planned = [ready for ready in portion if ready.error is None]
        try:
            if planned:
                self._record(planned)
        except (VaultError, OSError) as error:
            code = error.exit_code if isinstance(error, VaultError) else Unavailable.exit_code
            self._fail("vault", f"{escaped(str(error))}; the files stay, and are tried again", code)
            for ready in portion:
                self._settling.postpone(ready.path, moment + _RETRY_SECONDS)
            return
        self._said.pop("vault", None)
        for ready in portion:
            self._put_away(ready, moment)
        taken = {r.planned.address: None for r in portion if r.planned and r.ingested}
        if taken:
            self._alert(list(taken))

    def _alert(self, taken: list[Address]) -> None:
        try:
            with Vault.open(self._plant) as vault:
                remarks = alert(vault, taken)
        except VaultError as error:
            remarks = [str(error)]
        for remark in remarks:
            self._fail("alert", escaped(remark), Unavailable.exit_code)

    def _record(self, planned: list[_Ready]) -> None:
        """Record a portion: all of it that can be, or nothing where the vault gives out."""
        with Vault.open(self._plant) as vault, vault.writing(self._patience):
            families = families_of(vault)
            with recording(vault) as recorder:
                for ready in planned:
                    _record_one(vault, recorder, ready, families)
        self._unpacked += sum(ready.ingested is not None for ready in planned)

    def _put_away(self, ready: _Ready, moment: float) -> None:
        name = escaped(ready.path)
        if ready.stays is not None:
            self._fail(str(ready.path), escaped(str(ready.stays)), ready.stays.exit_code)
            self._settling.postpone(ready.path, moment + _RETRY_SECONDS)
            return
        try:
            place = self.folder.put_away(ready.path, ready.stamp, ready.sha256, ready.error)
        except OSError as error:
            reason = f"{name} cannot be moved: {error.strerror or error}; this is tried again"
            self._fail(str(ready.path), reason, Unavailable.exit_code)
            self._settling.postpone(ready.path, moment + _RETRY_SECONDS)
            place = None
        else:
            self._said.pop(str(ready.path), None)
            if place is None:
                self._settling.again(ready.path)
        if place is None and ready.ingested is None:
            return  # told when it is moved
        refusal = _escaped(ready.error)
        self.worst = max(self.worst, refusal.exit_code if refusal else 0)
        self._tell(Dropped(name, escaped(place) if place else None, ready.ingested, refusal))

    def _pack(self) -> None:
        if self._unpacked < _HOUSEKEEPING_FROM or self._is_stopping:
            return
        self._unpacked = 0
        try:
            with Vault.open(self._plant) as vault, vault.writing(self._patience):
                packing.housekeeping(vault.repository)
        except (VaultError, OSError) as error:  # the vault is only larger than need be
            self._note(f"the vault could not be packed: {error}")

    def _fail(self, key: str, text: str, code: int) -> None:
        self.worst = max(self.worst, code)
        self._say(key, text)

    def _say(self, key: str, text: str) -> None:
        """Note something once, until it changes."""
        if self._said.get(key) != text:
            self._said[key] = text
            self._note(text)

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Be the only one who watches the folder. Raises Unavailable where another one does."""
        try:
            lock = take_lock(self.folder.root / ".axisvault-watch.lock")
        except OSError as error:
            self._note(f"the folder cannot be locked ({error}): let nobody else watch it")
            yield
            return
        if lock is None:
            raise Unavailable(
                "another process watches this folder",
                file=escaped(self.folder.root),
                hint="one is enough; end it first",
            )
        with lock:
            yield


def _record_one(
    vault: Vault, recorder: Recorder, ready: _Ready, families: Mapping[str, FamilyFile]
) -> None:
    assert ready.planned is not None
    assert ready.content is not None
    try:
        ready.ingested = take_in_once(vault, recorder, ready.planned, ready.content, families)
    except Unavailable:
        raise
    except Damaged as error:  # the vault's fault, at this axis only perhaps
        ready.stays = error
    except VaultError as error:
        ready.error = error


def _check_apart(plant: Path, folder: Path) -> None:
    if plant.is_relative_to(folder) or folder.is_relative_to(plant):
        raise WrongUsage(
            f"the vault {plant} and the watched folder {folder} lie in each other",
            hint="watch a folder of its own",
        )


def _escaped(error: VaultError | None) -> VaultError | None:
    if error is None:
        return None
    file = None if error.file is None else escaped(error.file)
    return type(error)(escaped(error.message), file=file, line=error.line, hint=error.hint)
