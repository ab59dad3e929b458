"""Margins of the latest states of many axes, kept by the process for as long as they hold.

They rest on what lies in the folder of the axis and on its latest snapshot: an axis of which both
are the same is not reckoned again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from threading import Lock
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.jobs.state.selectors import State, view_of

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.model.names import Address
    from vault.store.vault import Vault

Key = tuple[str, str]
"""Ids of the axis's folder and of its latest snapshot."""


class KeptMargins:
    """Margins by what they rest on. With more axes than it keeps, the others are reckoned anew."""

    def __init__(self, most: int = 4096) -> None:
        self._most = most
        self._kept: dict[Key, Mapping[str, Margin]] = {}
        self._lock = Lock()

    def of(self, vault: Vault, states: Sequence[State]) -> list[Mapping[str, Margin]]:
        """The margins of latest states of axes in the vault, in the same order."""
        folders = vault.axis_folders()
        before, found = self._kept, []
        used: dict[Key, Mapping[str, Margin]] = {}
        for state in states:
            key = self._key(state, folders)
            margins = before.get(key) if key is not None else None
            if margins is None:
                margins = margins_of(view_of(state).state)
            if key is not None and len(used) < self._most:
                used[key] = margins
            found.append(margins)
        with self._lock:  # what others looked at meanwhile goes on, as long as there is room
            rest = {key: margins for key, margins in self._kept.items() if key not in used}
            room = self._most - len(used)
            self._kept = used | dict(list(rest.items())[:room])
        return found

    @staticmethod
    def _key(state: State, folders: Mapping[Address, str]) -> Key | None:
        if state.address is None or state.snapshot is None:
            return None
        folder = folders.get(state.address)
        return None if folder is None else (folder, state.snapshot.id)


KEPT = KeptMargins()
