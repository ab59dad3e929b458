"""The folders of axes in git's tree, and what lies in them, by git's ids.

What is as it was when this was asked last is not read again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.names import Address, case_clash
from vault.store.files import layout
from vault.store.git.objects import read_tree

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from vault.store.directory import Directory
    from vault.store.git.objects import TreeEntry
    from vault.store.git.repository import Repository

_TREES: dict[str, dict[str, Mapping[str, str]]] = {}
"""Ids by name of what lies in a folder, by the folder's id, for a repository: of the tip that was
asked last. All vaults that are open on it share them: what lies in a tree of git never changes.
"""
_MOST = 64
_OF_AXIS = ("axis.yaml", "snapshot.yaml", f"{layout.CONTROLLER}/snapshot.yaml")


class AxisFolders:
    """Reads the folders at one tip after the other."""

    def __init__(self, repository: Repository) -> None:
        self._repository = repository
        self._by_machine: dict[tuple[str, str], dict[Address, str]] = {}
        self._has_record: dict[str, bool] = {}
        self._axes: tuple[str, tuple[Address, ...]] | None = None
        self._files: tuple[str, list[TreeEntry]] | None = None
        self._blobs: dict[str, tuple[str, Mapping[Address, str]]] = {}
        self._is_damaged = False

    def ids(self, tip: str) -> dict[Address, str]:
        """Ids of the folders: they change with anything in them."""
        before, self._by_machine = self._by_machine, {}
        for machine in self._repository.list(tip, layout.MACHINES):
            if machine.kind == "tree":
                key = machine.path, machine.id
                folders = before.get(key)
                self._by_machine[key] = self._in(machine.path, tip) if folders is None else folders
        return {a: tree for folders in self._by_machine.values() for a, tree in folders.items()}

    def ids_of(self, tip: str, machine: str) -> dict[Address, str]:
        """The same of one machine, without a look at the others."""
        return self._in(f"{layout.MACHINES}/{machine}", tip)

    def _in(self, machine: str, tip: str) -> dict[Address, str]:
        entries = self._repository.list(tip, machine)
        parts = ((entry.path.split("/"), entry) for entry in entries if entry.kind == "tree")
        return {Address(name, axis): entry.id for (_, name, axis), entry in parts}

    def blobs_named(self, tip: str, name: str) -> Mapping[Address, str]:
        """Ids of a file in the folders, of those that have it."""
        kept = self._blobs.get(name)
        if kept is not None and kept[0] == tip:
            return kept[1]
        self._blobs.pop(name, None)
        place, folders = str(self._repository.path), self.ids(tip)
        before = _TREES.get(place, {})
        known: dict[str, Mapping[str, str]] = {}
        found: dict[Address, str] = {}
        self._is_damaged = False
        for address, tree in folders.items():
            blob = self._named(tree, name.split("/"), before, known)
            if blob is not None:
                found[address] = blob
        if place not in _TREES and len(_TREES) >= _MOST:
            _TREES.clear()
        _TREES[place] = known
        if not self._is_damaged:
            self._blobs[name] = tip, found
        return found

    def _named(
        self,
        tree: str,
        path: Sequence[str],
        before: Mapping[str, Mapping[str, str]],
        known: dict[str, Mapping[str, str]],
    ) -> str | None:
        """Id of what lies at a path in a folder; of one that cannot be read nothing is `known`."""
        names = before.get(tree)
        if names is None:
            stored = self._repository.object(tree)
            if stored is None or stored.kind != "tree":
                self._is_damaged = True
                return self._repository.resolve(f"{tree}:{'/'.join(path)}")
            names = {entry.path: entry.id for entry in read_tree(stored.content, "")}
        known[tree] = names
        inner = names.get(path[0])
        if inner is None or len(path) == 1:
            return inner
        return self._named(inner, path[1:], before, known)

    def axes(
        self,
        tip: str,
        machine: str | None,
        with_snapshots: Callable[[str | None], Iterable[Address]],
        named: Callable[[Address], Address],
    ) -> list[Address]:
        """Axes that have a record or a snapshot of either side, by place, as they are called now.

        Of a machine, or of all. Those of all are asked for by most pages, so they are kept for a
        tip.
        """
        if machine is None and self._axes is not None and self._axes[0] == tip:
            return list(self._axes[1])
        axes = {address.drive for address in with_snapshots(machine)}
        axes.update(self.with_record(tip, axes, machine))
        found = [named(address) for address in sorted(axes)]
        if machine is None:
            self._axes = tip, tuple(found)
        return found

    def with_record(self, tip: str, but: set[Address], machine: str | None = None) -> list[Address]:
        """Axes that have a record, or a snapshot of either side, but for some that are known.

        Of a machine, or of all.
        """
        known, found = self._has_record, []
        if machine is None:  # else the others are not forgotten
            self._has_record = {}
        folders = self.ids(tip) if machine is None else self.ids_of(tip, machine)
        for address in folders.keys() - but:
            folder = folders[address]
            if folder not in known:
                files = (f"{folder}:{name}" for name in _OF_AXIS)
                known[folder] = any(self._repository.blob(file) is not None for file in files)
            self._has_record[folder] = known[folder]
            if known[folder]:
                found.append(address)
        return found

    def files(self, tip: str) -> list[TreeEntry]:
        """Everything that lies in the folders of the machines."""
        if self._files is None or self._files[0] != tip:
            files = self._repository.list(tip, layout.MACHINES, recursive=True)
            self._files = tip, files
        return self._files[1]

    def case_clash(self, tip: str, address: Address, given: Directory) -> str | None:
        """Say which name in the vault an axis's name differs from in case only; None for none."""

        def names(folder: str) -> list[str]:
            return [e.path.rsplit("/", 1)[1] for e in self._repository.list(tip, folder)]

        return case_clash(
            address,
            [*names(layout.MACHINES), *given.machine_names_in_use()],
            lambda name: [*names(f"{layout.MACHINES}/{name}"), *given.axis_names_in_use(name)],
        )
