"""What is not plausible about snapshots, kept by the process for as long as what it rests on holds.

A check looks at the axis, at the others of its machine, at the axis of its pair, and at what is of
the whole site. An export of another machine changes none of that: while some take exports in, who
looks at baselines does not wait for all of them to be checked again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.check import Seen, check_state
from vault.meaning.reader import system
from vault.model.remembered import Remembered
from vault.store.files import layout

if TYPE_CHECKING:
    from vault.jobs.state.selectors import State
    from vault.meaning.checks import Complaint
    from vault.store.vault import Vault

_MOST = 2000
Key = tuple[object, ...]
_KEPT: Remembered[Key, tuple[Complaint, ...]] = Remembered(_MOST)


class Checker:
    """Checks many states of a vault one after the other; each axis around them is read once."""

    def __init__(self, vault: Vault) -> None:
        self._vault = vault
        self._seen = Seen(vault)
        self._machines: dict[str, str | None] = {}
        self._of_site: Key | None = None

    def complaints(self, state: State) -> tuple[Complaint, ...]:
        """Everything that is not plausible about a state, worst first."""
        key = self._key(state)
        if key is None:
            return tuple(check_state(state, self._seen))
        return _KEPT.of(key, lambda: tuple(check_state(state, self._seen)))

    def _key(self, state: State) -> Key | None:
        """All that it rests on, by git's ids; None for a file, which is nobody's to keep."""
        snapshot, address = state.snapshot, state.address
        if state.vault is not self._vault or snapshot is None or address is None or state.reread:
            return None
        pair = state.axis.pair if state.axis is not None else None
        machines = {address.machine}
        if pair is not None:
            machines.add(self._seen.named(pair).machine)
        folders = tuple((name, self._folder(name)) for name in sorted(machines))
        return (*self._site(), system(), folders, snapshot.id, state.is_latest, state.built_at)

    def _folder(self, machine: str) -> str | None:
        """Id of everything about a machine."""
        if machine not in self._machines:
            name = f"{self._vault.tip}:{layout.MACHINES}/{machine}"
            self._machines[machine] = self._vault.repository.resolve(name)
        return self._machines[machine]

    def _site(self) -> Key:
        """The repository, and what lies in it beside the machines."""
        if self._of_site is None:
            repository = self._vault.repository
            top = repository.list(self._vault.tip, "")
            ids = sorted((entry.path, entry.id) for entry in top if entry.path != layout.MACHINES)
            self._of_site = str(repository.path), *ids
        return self._of_site
