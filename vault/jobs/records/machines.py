"""Machines: their records, which machine is a twin of which, and what each is called."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from vault.jobs.records.edit import RecordAdded, put
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.names import CASE_HINT, Address, checked_name
from vault.model.near_names import did_you_mean
from vault.model.remembered import EACH_AXIS, Remembered
from vault.store.files import layout, yaml_text
from vault.store.files.edited_files import read_machine

if TYPE_CHECKING:
    from vault.model.corrections import Correction
    from vault.model.machine import MachineRecord
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class MachineSummary:
    """A machine at a glance: what it is and was called, its record as people wrote it, its axes.

    `names` begin with the present one. `twin` is the machine that it is held against, by its
    present name, and `pairs` the axis of that which goes with each of its own; both by its record,
    or by that of its twin.
    """

    names: tuple[str, ...]
    text: str
    record: MachineRecord | None
    axes: tuple[Address, ...]
    retired: Correction | None
    twin: str | None
    pairs: tuple[tuple[Address, Address], ...]

    @property
    def name(self) -> str:
        """What it is called now."""
        return self.names[0]

    @property
    def title(self) -> str:
        """Its title."""
        return self.record.title if self.record else ""


def require_machine(vault: Vault, name: str) -> str:
    """The folder of the machine that has, or had, a name. Raises WrongUsage with what there is."""
    folder = vault.names.machine(checked_name(name, "machine"))
    known = machine_folders(vault)
    if folder in known:
        return folder
    names = [vault.names.machine_name(one) for one in known]
    raise WrongUsage(
        f"there is no machine {name}{did_you_mean(name, names)}", hint="axisvault machine list"
    )


def machine_folders(vault: Vault) -> list[str]:
    """Folders of all machines that have a record or an axis, by name."""
    entries = vault.repository.list(vault.tip, layout.MACHINES)
    return [entry.path.rsplit("/", 1)[1] for entry in entries if entry.kind == "tree"]


def set_machine(vault: Vault, name: str, content: bytes, file: str, by: str) -> RecordAdded:
    """Put the record of a machine into the vault, be it before its first axis.

    `file` is what it is called for people. Raises Unreadable with file, line and key.
    """
    read_machine(content, file)
    return rewrite_machine(vault, name, lambda _: content, file, by)


def rewrite_machine(
    vault: Vault, name: str, rewrite: Callable[[bytes | None], bytes], file: str, by: str
) -> RecordAdded:
    """Put in a machine's record that is made from the one that the vault has by then."""
    with vault.writing():
        folder = vault.names.machine(checked_name(name, "machine"))
        content = rewrite(vault.read(layout.machine_file(folder)))
        record = read_machine(content, file)
        if clash := vault.case_clash(Address(folder, "any")):
            raise WrongUsage(clash, hint=CASE_HINT)
        if record.twin is not None and vault.names.machine(record.twin) == folder:
            line = yaml_text.line_of(content, ("twin",))
            raise Unreadable("twin: a machine is no twin of itself", file=file, line=line)
        called = vault.names.machine_name(folder)
        added = put(vault, layout.machine_file(folder), content, f"{called}: machine", by)
        return RecordAdded(
            called, added.unchanged, added.commit, remarks=tuple(_doubts(vault, folder, record))
        )


def _doubts(vault: Vault, folder: str, record: MachineRecord) -> Iterator[str]:
    """What a record names that there is not, as yet."""
    if record.twin is None:
        return
    twin = vault.names.machine(record.twin)
    if twin not in machine_folders(vault):
        yield f"twin: there is no machine {record.twin} as yet"
        return
    for mine, theirs in record.pairs.items():
        for machine, axis in ((folder, mine), (twin, theirs)):
            address = vault.names.find(Address(machine, axis))
            if not vault.exists(address):
                yield f"pairs: there is no axis {address} as yet"


def machine_record(vault: Vault, folder: str) -> MachineRecord | None:
    """What is recorded of a machine, None where nothing is. Raises Unreadable."""
    path = layout.machine_file(folder)
    content = vault.read(path)
    return None if content is None else read_machine(content, path)


_TAGS = Remembered[str, tuple[str, ...]](EACH_AXIS)


def tags_of_machines(vault: Vault) -> dict[str, tuple[str, ...]]:
    """The tags of every machine that has some, by folder; a record that cannot be read has none.

    Remembered by the ids of the folders: with many machines, asking git for each record is slow.
    """
    found = {}
    for entry in vault.repository.list(vault.tip, layout.MACHINES):
        if entry.kind == "tree":
            folder = entry.path.split("/")[1]
            found[folder] = _TAGS.of(entry.id, partial(_tags, vault, folder))
    return {folder: tags for folder, tags in found.items() if tags}


def _tags(vault: Vault, folder: str) -> tuple[str, ...]:
    with suppress(VaultError):
        record = machine_record(vault, folder)
        return () if record is None else record.tags
    return ()


def machine_summary(vault: Vault, name: str) -> MachineSummary:
    """Everything about a machine at a glance. Raises WrongUsage if there is none."""
    return _summary(vault, require_machine(vault, name), vault.axes())


def machine_summaries(vault: Vault, failed: Callable[[VaultError], None]) -> list[MachineSummary]:
    """Every machine at a glance, retired ones last; `failed` gets what is wrong with one."""
    found: list[MachineSummary] = []
    axes = vault.axes()
    for folder in machine_folders(vault):
        with told_apart(failed, vault.names.machine_name(folder)):
            found.append(_summary(vault, folder, axes))
    return sorted(found, key=lambda one: (one.retired is not None, one.name))


def _summary(vault: Vault, folder: str, axes: list[Address]) -> MachineSummary:
    names = vault.names
    content = vault.read(layout.machine_file(folder))
    twin, pairs = twin_of(vault, folder, axes)
    return MachineSummary(
        names=tuple(names.names_of_machine(folder)),
        text="" if content is None else content.decode("utf-8-sig"),
        record=None if content is None else read_machine(content, layout.machine_file(folder)),
        axes=tuple(axis for axis in axes if axis.machine == folder),
        retired=names.machine_retired(folder),
        twin=None if twin is None else names.machine_name(twin),
        pairs=tuple(pairs),
    )


def twin_of(
    vault: Vault, folder: str, axes: list[Address]
) -> tuple[str | None, list[tuple[Address, Address]]]:
    """The folder of a machine's twin, and which axes go together: by record, else by name.

    One of both records is enough to say it. `axes` are those of the vault. Raises Unreadable.
    """
    record = machine_record(vault, folder)
    twin = None if record is None or record.twin is None else vault.names.machine(record.twin)
    stated = dict(record.pairs) if record is not None and twin is not None else {}
    if twin is None:
        for other in machine_folders(vault):
            theirs = machine_record(vault, other) if other != folder else None
            named = None if theirs is None else theirs.twin
            if theirs is not None and named is not None and vault.names.machine(named) == folder:
                twin = other
                stated = {mine: their for their, mine in theirs.pairs.items()}
                break
    if twin is None:
        return None, []
    find = vault.names.find
    pairs = {
        find(Address(folder, mine)): find(Address(twin, other)) for mine, other in stated.items()
    }
    by_name = {axis.shown[1]: axis for axis in axes if axis.machine == twin}
    known = set(axes)
    for axis in axes:
        other_axis = by_name.get(axis.shown[1])
        if axis.machine == folder and other_axis is not None and other_axis not in pairs.values():
            pairs.setdefault(axis, other_axis)
    return twin, [(one, other) for one, other in pairs.items() if {one, other} <= known]


def recorded_pairing(vault: Vault, left: str, right: str) -> dict[str, str]:
    """Axes of two machines that go together by the record of either, left names by right ones.

    Empty where neither says that the other is its twin; retired axes have no pair.
    """
    in_use = [axis for axis in vault.axes() if vault.names.retired(axis) is None]
    twin, pairs = twin_of(vault, vault.names.machine(left), in_use)
    if twin != vault.names.machine(right):
        return {}
    return {one.shown[1]: other.shown[1] for one, other in pairs}
