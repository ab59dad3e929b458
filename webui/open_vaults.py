"""Open vaults that requests share, each by one at a time: to open one takes longer than most pages.

A vault that stays open has git processes and a database behind it. It is not used again once its
folder or its index is another one, once something went wrong with it, or after it lay idle.
"""

from __future__ import annotations

import weakref
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from time import monotonic

from vault.model.errors import VaultError
from vault.store.vault import Vault

_MOST = 8  # as many as the server has threads
_IDLE_SECONDS = 60.0
Sight = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class _Idle:
    """A vault that nobody uses, what lay on the disk when it was opened, and since when."""

    vault: Vault
    sight: Sight
    since: float


class OpenVaults:
    """Vaults that are open for whoever asks next. Close it when done."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._idle: list[_Idle] = []
        self._lock = Lock()
        self._end = weakref.finalize(self, _close_all, self._idle)

    def close(self) -> None:
        """Close those that nobody uses."""
        with self._lock:
            _close_all(self._idle)

    @contextmanager
    def one(self) -> Iterator[Vault]:
        """A vault that shows the present state. Raises WrongUsage where there is none."""
        vault, sight = self._reused() or self._opened()
        try:
            yield vault
        except BaseException:
            vault.close()
            raise
        if sight is None or vault.index.is_damaged:
            vault.close()
        else:
            self._keep(vault, sight)

    def _reused(self) -> tuple[Vault, Sight] | None:
        while (found := self._newest()) is not None:
            if found.sight == self._sight():
                with suppress(VaultError):
                    found.vault.refresh()
                    return found.vault, found.sight
            found.vault.close()
        return None

    def _newest(self) -> _Idle | None:
        with self._lock:
            return self._idle.pop() if self._idle else None

    def _opened(self) -> tuple[Vault, Sight | None]:
        vault = Vault.open(self._folder)
        return vault, self._sight()

    def _keep(self, vault: Vault, sight: Sight) -> None:
        moment = monotonic()
        with self._lock:
            self._idle.append(_Idle(vault, sight, moment))
            fresh = [o for o in self._idle[-_MOST:] if moment - o.since <= _IDLE_SECONDS]
            old = [one for one in self._idle if one not in fresh]
            self._idle[:] = fresh
        _close_all(old)

    def _sight(self) -> Sight | None:
        """Which folder, branch and index these are; None where one of them is not there."""
        places = (self._folder, self._folder / "HEAD", self._folder / "axisvault/index.sqlite")
        try:
            found = [place.stat() for place in places]
        except OSError:
            return None
        return tuple((one.st_dev, one.st_ino) for one in found)


def _close_all(idle: list[_Idle]) -> None:
    while idle:
        idle.pop().vault.close()
