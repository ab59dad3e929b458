"""Open vaults that requests share, each by one at a time: to open one takes longer than most pages.

A vault that stays open has git processes and a database behind it. It is not used again once its
folder or its index is another one, once something went wrong with it, after it lay idle, or when
it is old: git holds on to every pack that it has read from, also to those that are no more.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from time import monotonic

from vault.store.vault import Vault

_MOST = 8  # as many as the server has threads
_IDLE_SECONDS = 60.0
_LONGEST_SECONDS = 300.0
Identity = tuple[tuple[int, int], ...]


@dataclass(slots=True)
class _Open:
    """A vault, what lay on the disk when it was opened, when that was, and when it was used last.

    Without an identity it is used once.
    """

    vault: Vault
    identity: Identity | None
    opened: float
    used: float


class OpenVaults:
    """Vaults that are open for whoever asks next. Close it when done."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._idle: list[_Open] = []
        self._lock = Lock()
        self._end = weakref.finalize(self, _close_all, self._idle)

    def close(self) -> None:
        """Close those that nobody uses."""
        with self._lock:
            _close_all(self._idle)

    @contextmanager
    def borrow(self) -> Iterator[Vault]:
        """A vault that shows the present state. Raises WrongUsage where there is none."""
        opened = self._reused() or self._opened()
        try:
            yield opened.vault
        except BaseException:
            opened.vault.close()
            raise
        if opened.identity is None or opened.vault.index.is_damaged:
            opened.vault.close()
        else:
            self._keep(opened)

    def _reused(self) -> _Open | None:
        while (newest := self._newest()) is not None:
            if (
                newest.identity == self._identity()
                and monotonic() - newest.opened <= _LONGEST_SECONDS
            ):
                with suppress(Exception):  # the next one, or a new one, may do
                    newest.vault.refresh()
                    return newest
            newest.vault.close()
        return None

    def _newest(self) -> _Open | None:
        with self._lock:
            return self._idle.pop() if self._idle else None

    def _opened(self) -> _Open:
        before, moment = self._identity(), monotonic()
        vault = Vault.open(self._folder)
        is_same = self._identity() == before  # else it may be open on what is no more
        return _Open(vault, before if is_same else None, moment, moment)

    def _keep(self, opened: _Open) -> None:
        opened.used = moment = monotonic()
        with self._lock:
            self._idle.append(opened)
            fresh = [o for o in self._idle[-_MOST:] if moment - o.used <= _IDLE_SECONDS]
            old = [o for o in self._idle if o not in fresh]
            self._idle[:] = fresh
        _close_all(old)

    def _identity(self) -> Identity | None:
        """Which folder, branch and index these are; None where one of them is not there."""
        places = (self._folder, self._folder / "HEAD", self._folder / "axisvault/index.sqlite")
        try:
            stats = [place.stat() for place in places]
        except OSError:
            return None
        return tuple((stat.st_dev, stat.st_ino) for stat in stats)


def _close_all(idle: list[_Open]) -> None:
    while idle:
        idle.pop().vault.close()
