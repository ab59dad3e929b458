"""What machines and axes are called at one state of the vault, and which are out of use.

The place in git's tree (`machines/MACHINE/AXIS`) is what an axis is, and never moves. Whatever it
was called since stands in corrections.yaml, and every name that it ever had leads to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from vault.model.corrections import Standing, standing
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.corrections_text import read_corrections

if TYPE_CHECKING:
    from vault.model.corrections import Correction
    from vault.store.git.repository import Repository

_MANY = 8  # machines, from where one question to git for all is quicker
_CORRECTIONS = "corrections.yaml"
_IN_USE = Standing()


@dataclass(frozen=True)
class Clash:
    """A name that two of one kind want since copies were joined: `holder` has it, `other` not."""

    name: str
    holder: str
    other: str

    def __str__(self) -> str:
        return f"{self.holder} and {self.other} are both called {self.name}"

    @property
    def command(self) -> str:
        """What renames the one that has not the name."""
        kind = "axis" if "/" in self.other else "machine"
        return f"{kind} rename {self.other} NEW"


@dataclass(frozen=True)
class SharedName:
    """A name that leads to `holder`, and that the `others` had too, under their present names.

    Two may have had one name, as where copies were joined that each gave it; one may have it now.
    """

    name: str
    holder: str
    others: tuple[str, ...]

    def __str__(self) -> str:
        others = " and ".join(self.others)
        return f"{self.name} leads to {self.holder}; it is also a former name of {others}"


class _Level:
    """Names that stand beside each other: machines of a vault, axes of a machine.

    `folders` are what they began with. A name that two want is that of whose folder has it, else
    of who was given it first, so that every copy says the same.
    """

    def __init__(self, folders: Iterable[str], standings: Mapping[str, Standing]) -> None:
        self.standings = standings
        self.shown: dict[str, str] = {}
        self.clashes: list[Clash] = []
        self._others: dict[str, list[str]] = {}
        self._folders = {folder: folder for folder in folders}
        taken = {folder.casefold(): folder for folder in self._folders}
        renamed = [(one.renamed[-1].at, folder) for folder, one in standings.items() if one.renamed]
        for _, folder in sorted(renamed):
            name = standings[folder].name or folder
            holder = taken.setdefault(name.casefold(), folder)
            if holder != folder:
                self.clashes.append(Clash(name, holder, folder))
            elif name != folder:
                self.shown[folder] = name
        for folder, name in self.shown.items():
            self._folders.setdefault(name, folder)
        for folder, one in standings.items():
            for name in dict.fromkeys([folder, *(entry.name or folder for entry in one.renamed)]):
                if self._folders.setdefault(name, folder) != folder:
                    self._others.setdefault(name, []).append(folder)

    @property
    def names(self) -> Mapping[str, str]:
        """Every name that one of them has or had, and the folder of whose it is."""
        return self._folders

    def folder(self, name: str) -> str:
        """The folder of what has, or had, a name; the name itself where nothing has."""
        return self._folders.get(name, name)

    def others(self, name: str) -> list[str]:
        """What those are called now that had a name which leads to another one."""
        return [self.present(folder) for folder in self._others.get(name, ())]

    def shared(self, folder: str) -> Iterator[SharedName]:
        """Names that the one in a folder is or was called, as others were."""
        for name, others in self._others.items():
            if folder in (self._folders[name], *others):
                holder = self.present(self._folders[name])
                yield SharedName(name, holder, tuple(self.others(name)))

    def present(self, folder: str) -> str:
        """What the one in a folder is called now."""
        return self.shown.get(folder, folder)

    def all_names(self, folder: str) -> list[str]:
        """What the one in a folder is and was called, the present name first."""
        given = [entry.name or folder for entry in self.standing(folder).renamed]
        mine = [name for name in (folder, *given) if self.folder(name) == folder]
        return list(dict.fromkeys([self.present(folder), *mine]))

    def standing(self, folder: str) -> Standing:
        """What was said of the one in a folder."""
        return self.standings.get(folder, _IN_USE)


@dataclass(frozen=True)
class _Machine:
    """What the folder of a machine says: of the machine itself, and of its axes."""

    own: Standing = _IN_USE
    axes: _Level = field(default_factory=lambda: _Level((), {}))


class Directory:
    """Names and retirement of everything in a vault. Empty where nothing was ever renamed."""

    def __init__(self, machines: Mapping[str, _Machine]) -> None:
        self._axes = {folder: machine.axes for folder, machine in machines.items()}
        own = {name: one.own for name, one in machines.items() if one.own != _IN_USE}
        self._machines = _Level(machines, own)
        self._is_plain = not own and not any(level.standings for level in self._axes.values())

    def find(self, address: Address) -> Address:
        """The axis that has, or had, a name, under its present one; the name itself for none."""
        machine = self._machines.folder(address.machine)
        level = self._axes.get(machine)
        axis = address.axis if level is None else level.folder(address.axis)
        return self.named(Address(machine, axis, address.side))

    def also(self, typed: Address) -> SharedName | None:
        """That others had a name which somebody types for an axis; None where none had."""
        machine = self._machines.folder(typed.machine)
        machines = self._machines.others(typed.machine)
        if machines:
            return SharedName(typed.machine, self.machine_name(machine), tuple(machines))
        level = self._axes.get(machine)
        others = [] if level is None else level.others(typed.axis)
        if not others:
            return None
        places = tuple(f"{self.machine_name(machine)}/{axis}" for axis in others)
        return SharedName(typed.place, str(self.find(typed)), places)

    def shared(self, address: Address) -> list[SharedName]:
        """Names that an axis or its machine has or had, as others of their kind had."""
        own = self._axes.get(address.machine)
        machine = self.machine_name(address.machine)
        found = [*self._machines.shared(address.machine)]
        for one in own.shared(address.axis) if own is not None else ():
            name, holder, *others = (
                f"{machine}/{axis}" for axis in (one.name, one.holder, *one.others)
            )
            found.append(SharedName(name, holder, tuple(others)))
        return found

    def named(self, address: Address) -> Address:
        """The axis of a place, under its present name."""
        if self._is_plain:
            return address
        level = self._axes.get(address.machine)
        axis = address.axis if level is None else level.present(address.axis)
        name = f"{self._machines.present(address.machine)}/{axis}"
        return replace(address, known_as=None if name == address.drive.place else name)

    def machine(self, name: str) -> str:
        """The folder of the machine that has, or had, a name; the name itself for none."""
        return self._machines.folder(name)

    def machine_name(self, folder: str) -> str:
        """What the machine in a folder is called now."""
        return self._machines.present(folder)

    def names_of_machine(self, folder: str) -> list[str]:
        """What a machine is and was called, the present name first."""
        return self._machines.all_names(folder)

    def names(self, address: Address) -> list[str]:
        """What an axis is and was called, machine, side and all, the present name first."""
        level = self._axes.get(address.machine)
        axes = [address.axis] if level is None else level.all_names(address.axis)
        machines = self.names_of_machine(address.machine)
        named = (Address(machine, axis, address.side) for machine in machines for axis in axes)
        return list(map(str, named))

    def retired(self, address: Address) -> Correction | None:
        """The entry that took an axis, or its whole machine, out of use; None for one in use."""
        level = self._axes.get(address.machine)
        own = None if level is None else level.standing(address.axis).retired
        return self.machine_retired(address.machine) or own

    def machine_retired(self, folder: str) -> Correction | None:
        """The entry that took a machine out of use; None for one in use."""
        return self._machines.standing(folder).retired

    def machine_names_in_use(self) -> Mapping[str, str]:
        """Every name that a machine has or had, and its folder."""
        return self._machines.names

    def axis_names_in_use(self, machine: str) -> Mapping[str, str]:
        """Every name that an axis of a machine (by its folder) has or had, and its folder."""
        level = self._axes.get(machine)
        return {} if level is None else level.names

    @property
    def clashes(self) -> Iterator[Clash]:
        """Names that two want, as after copies were joined that each gave one."""
        yield from self._machines.clashes
        for machine, level in self._axes.items():
            for clash in level.clashes:
                parts = (clash.name, clash.holder, clash.other)
                yield Clash(*(f"{machine}/{part}" for part in parts))


NOTHING_RENAMED = Directory({})


class DirectoryReader:
    """Reads the directory at one tip after the other; what did not change is not read again."""

    def __init__(self, repository: Repository) -> None:
        self._repository = repository
        self._known: dict[tuple[str, str], _Machine] = {}

    def at(self, tip: str) -> Directory:
        """The directory at a tip. A file that cannot be read says nothing; verify names it."""
        listed = self._repository.list(tip, layout.MACHINES)
        keys = [(entry.path, entry.id) for entry in listed if entry.kind == "tree"]
        new = [key for key in keys if key not in self._known]
        found = self._all(tip) if len(new) >= _MANY else None
        before = self._known
        self._known = {
            key: before.get(key) or _machine(*(self._one(*key) if found is None else found[key[0]]))
            for key in keys
        }
        return Directory({path.rsplit("/", 1)[1]: one for (path, _), one in self._known.items()})

    def _one(self, path: str, tree: str) -> _Files:
        """Of one machine: its axes, and texts of corrections by axis, "" for its own."""
        axes, texts = [], {}
        for entry in self._repository.list(tree, ""):
            if entry.kind == "tree":
                axes.append(entry.path)
                texts[entry.path] = self._repository.blob(f"{entry.id}:{_CORRECTIONS}")
            elif entry.path == _CORRECTIONS:
                texts[""] = self._repository.blob(entry.id)
        return axes, {axis: text for axis, text in texts.items() if text is not None}

    def _all(self, tip: str) -> dict[str, _Files]:
        """The same of every machine, with one question to git."""
        found: dict[str, _Files] = {}
        for entry in self._repository.list(tip, layout.MACHINES, recursive=True):
            folder, machine, *rest = entry.path.split("/")
            if not rest:
                continue
            axes, texts = found.setdefault(f"{folder}/{machine}", ([], {}))
            axis = rest[0] if len(rest) > 1 else ""
            if axis and axis not in axes[-1:]:  # they come in order
                axes.append(axis)
            if rest[-1] == _CORRECTIONS and len(rest) <= 2:
                texts[axis] = self._repository.blob(entry.id) or b""
        return found


_Files = tuple[list[str], dict[str, bytes]]


def _machine(axes: list[str], texts: Mapping[str, bytes]) -> _Machine:
    found = {axis: _standing(text) for axis, text in texts.items()}
    said = {axis: one for axis, one in found.items() if one != _IN_USE}
    own = said.pop("", _IN_USE)
    return _Machine(own, _Level(axes, said))


def _standing(text: bytes) -> Standing:
    if b"renamed" not in text and b"retired" not in text:  # else it need not be read
        return _IN_USE
    with suppress(VaultError):
        return standing(read_corrections(text, _CORRECTIONS))
    return _IN_USE
