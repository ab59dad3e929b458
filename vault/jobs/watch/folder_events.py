"""News from a folder: events of the operating system where there are any, else by polling.

They only say that a look is worth while. Events get lost, on network shares above all: whoever
listens looks by himself every so often.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from watchdog.events import FileSystemEvent
    from watchdog.observers.api import BaseObserver

_FALLBACK_SECONDS = 10.0


class WakeUp:
    """Wakes whoever waits, from other threads and signal handlers, which may wait for no lock."""

    def __init__(self) -> None:
        self._calls: SimpleQueue[None] = SimpleQueue()

    def call(self) -> None:
        """Wake whoever waits, or will wait."""
        self._calls.put(None)

    def wait(self, seconds: float) -> bool:
        """Wait for a call, at most some seconds; say whether there was one."""
        try:
            self._calls.get(timeout=max(seconds, 0.0))
        except Empty:
            return False
        self.forget()
        return True

    def forget(self) -> None:
        """Forget the calls so far."""
        with suppress(Empty):
            while True:
                self._calls.get_nowait()


class FolderEvents:
    """Calls when something in a folder changes, but for sub-folders that are left out.

    With `poll` seconds it compares the folder with itself that often instead of asking the system.
    """

    def __init__(
        self,
        root: Path,
        call: Callable[[], None],
        note: Callable[[str], None],
        *,
        poll: float | None = None,
        left_out: tuple[str, ...] = (),
    ) -> None:
        self._root = root
        self._call = call
        self._note = note
        self._poll = poll
        self._left_out = {str(root / name) for name in left_out}
        self._observer: BaseObserver | None = None

    @property
    def poll(self) -> float | None:
        """Seconds between two polls; None where the system tells of changes."""
        return self._poll

    def listen(self) -> None:
        """Start listening, again if need be: a share that was gone ends it."""
        observer = self._observer
        if observer is not None and all(emitter.is_alive() for emitter in observer.emitters):
            return
        self.close()
        if not self._root.is_dir():
            return
        if self._poll is None:
            try:
                self._observer = self._started(None)
                return
            except OSError as error:  # as where a system has given out all its watches
                self._poll = _FALLBACK_SECONDS
                self._note(
                    f"the system tells of no changes here ({error.strerror or error}): "
                    f"the folder is polled every {self._poll:g} s"
                )
        with suppress(OSError):  # gone this moment
            self._observer = self._started(self._poll)

    def close(self) -> None:
        """Stop listening."""
        observer, self._observer = self._observer, None
        if observer is not None:
            observer.stop()
            observer.join()

    def _started(self, poll: float | None) -> BaseObserver:
        from watchdog.events import (
            DirCreatedEvent,
            DirMovedEvent,
            FileClosedEvent,
            FileCreatedEvent,
            FileModifiedEvent,
            FileMovedEvent,
            FileSystemEventHandler,
        )
        from watchdog.observers import Observer
        from watchdog.observers.polling import PollingObserverVFS

        call, is_left_out = self._call, self._is_left_out

        class Handler(FileSystemEventHandler):
            def on_any_event(self, event: FileSystemEvent) -> None:
                places = [os.fsdecode(place) for place in (event.dest_path, event.src_path)]
                if not is_left_out(next(place for place in places if place)):
                    call()

        observer = (
            Observer()
            if poll is None
            else PollingObserverVFS(os.lstat, self._listed, polling_interval=poll)
        )
        kinds: list[type[FileSystemEvent]] = [
            DirCreatedEvent, DirMovedEvent, FileClosedEvent, FileCreatedEvent, FileModifiedEvent,
            FileMovedEvent,
        ]  # fmt: skip
        try:
            observer.schedule(Handler(), str(self._root), recursive=True, event_filter=kinds)
            observer.start()
        except BaseException:
            observer.stop()
            raise
        return observer

    def _is_left_out(self, path: str) -> bool:
        return any(path == out or path.startswith(out + os.sep) for out in self._left_out)

    def _listed(self, folder: str | None) -> Iterator[os.DirEntry[str]]:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.is_symlink() and entry.path not in self._left_out:
                    yield entry
