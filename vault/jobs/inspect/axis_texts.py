"""What the files of an axis, and of a machine, say that people may look for it by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import TYPE_CHECKING

from vault.jobs.faults.log import faults_of
from vault.jobs.records.machines import machine_folders, machine_record
from vault.jobs.restore.target import planned
from vault.model.errors import VaultError
from vault.model.names import Address
from vault.store.files import layout, yaml_text
from vault.store.index.texts import Text, person

if TYPE_CHECKING:
    from vault.store.vault import Vault

AXIS, FORMER, TITLE = "name", "former name", "title"
MACHINE = {
    "machine": "its name",
    "former machine": "its former name",
    "title of machine": "its title",
    "tag of machine": "its tag",
}
"""Kinds of texts of machines, and what each is."""
PLAN = "restore plan"
FAULT, FAULT_NOTE = "fault", "note of a fault"
BY_RECORD = ", by the axis record"
ACTS = {
    "taken by": "took exports of",
    "approved by": "approved",
    "waived by": "waived something on",
    "noted by": "noted something about",
}
"""Kinds of texts that are people, and what each did."""


def text_sources(vault: Vault) -> dict[Address, str]:
    """What the texts rest on, of every axis, and of every machine under the empty name of one.

    The names are in it too: an axis has another one when its machine is renamed.
    """
    names, folders = vault.names, vault.axis_folders()
    found = {axis: f"{folder} {' '.join(names.names(axis))}" for axis, folder in folders.items()}
    for machine in machine_folders(vault):
        record = vault.repository.resolve(f"{vault.tip}:{layout.machine_file(machine)}")
        found[Address(machine, "")] = f"{record} {' '.join(names.names_of_machine(machine))}"
    return found


def texts_of(vault: Vault, address: Address) -> Iterator[Text]:
    """Kind and text of everything; a file that cannot be read says nothing, and is told elsewhere.

    In the order of use: names, axis record, baseline, faults, notes, restore plan.
    """
    if not address.axis:
        yield from _of_machine(vault, address.machine)
        return
    present, *former = vault.names.names(address)
    yield AXIS, present
    for name in former:
        yield FORMER, name
    try:
        listed = vault.repository.list(vault.tip, layout.folder(address))
    except VaultError:
        return
    there = {entry.path for entry in listed}
    readers: dict[str, Callable[[Vault, Address], Iterator[Text]]] = {
        layout.axis_file(address): _of_record,
        layout.golden_file(address): _of_golden,
        layout.fault_file(address): _of_faults,
        layout.corrections_file(address): _of_notes,
        layout.restore_file(address): _of_plan,
    }
    for path, read in readers.items():
        if path in there:
            try:
                yield from list(read(vault, address))
            except VaultError:
                continue
    if layout.folder(address.controller) in there:
        with suppress(VaultError):
            yield from list(_of_golden(vault, address.controller))


def _of_machine(vault: Vault, folder: str) -> Iterator[Text]:
    present, *former = vault.names.names_of_machine(folder)
    yield "machine", present
    for name in former:
        yield "former machine", name
    with suppress(VaultError):
        if (record := machine_record(vault, folder)) is not None:
            if record.title.strip():
                yield "title of machine", record.title.strip()
            for tag in record.tags:
                yield "tag of machine", tag


def _of_record(vault: Vault, address: Address) -> Iterator[Text]:
    """Loaded and not checked: that takes longer, and a title is one in a wrong record too."""
    path = layout.axis_file(address)
    record = yaml_text.load(vault.read(path) or b"", path)
    if not isinstance(record, dict):
        return
    if isinstance(title := record.get("title"), str) and title.strip():
        yield TITLE, title.strip()
    plate, motor = record.get("nameplate"), record.get("motor")
    for key, value in plate.items() if isinstance(plate, dict) else ():
        if isinstance(value, str | int) and str(value).strip("0 "):
            yield f"{key}{BY_RECORD}", str(value)
    if isinstance(motor, dict) and isinstance(code := motor.get("code"), str) and code.strip():
        yield f"motor{BY_RECORD}", code


def _of_golden(vault: Vault, address: Address) -> Iterator[Text]:
    golden = vault.golden(address)
    if golden.approval is not None:
        yield "approved by", person(golden.approval.by)
    for waiver in golden.waivers:
        yield "waived by", person(waiver.by)


def _of_faults(vault: Vault, address: Address) -> Iterator[Text]:
    for entry in faults_of(vault, address):
        yield FAULT, entry.code
        yield "noted by", person(entry.by)
        if entry.note:
            yield FAULT_NOTE, entry.note


def _of_notes(vault: Vault, address: Address) -> Iterator[Text]:
    for note in vault.corrections(address):
        yield "noted by", person(note.by)


def _of_plan(vault: Vault, address: Address) -> Iterator[Text]:
    if (record := planned(vault, address)) is not None:
        yield PLAN, record.number
